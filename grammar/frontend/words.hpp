// From raw tokens to the parser's tokens: words of the language, units, texts with insertions.
//
// Why:      the words of the language are contextual (a column may be called `early`, a let
//           `last`), and several are two or more words.  Deciding here, by the neighbours of a
//           word, keeps the grammar LL(1) and its messages exact.
// Reports:  everything that can be seen on single tokens, R0101 to R0112, R0117 and R0118, and
//           goes on with what was most likely meant.
#pragma once

#include <cstdint>
#include <vector>

#include "engine/base/source_text.hpp"
#include "grammar/frontend/sink.hpp"
#include "grammar/frontend/tokens.hpp"

namespace meniscus::grammar {

/// Cuts a stretch of the source into raw tokens.
class Scanner {
 public:
  Scanner() = default;
  Scanner(const Scanner&) = delete;
  Scanner& operator=(const Scanner&) = delete;
  virtual ~Scanner() = default;
  virtual std::vector<Token> scan(engine::Span span) = 0;
};

struct TaggedWords {
  std::vector<Token> tokens;  // without END
  bool usable = true;         // false: nested too deep to be parsed
};

TaggedWords tag_words(Scanner& scanner, std::uint32_t max_depth, Sink& sink);

}  // namespace meniscus::grammar
