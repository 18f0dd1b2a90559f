// Text of one rule file in, syntax tree and diagnostics out.
//
//   auto source = std::make_shared<const engine::SourceText>("sites.rule", text);
//   Parsed parsed = parse(source, ParseLimits{});
//   for (const engine::Diagnostic& d : parsed.diagnostics) report(engine::render(d));
//
// Takes:    any bytes; what is not UTF-8, too large or too deep is a diagnostic like any other.
// Gives:    always a tree.  After a mistake it holds what could still be read; an expression that
//           could not be read is ExprKind::Error.  Diagnostics stand in source order, codes R01xx
//           (writing) and R04xx (parts of a rule that are absent or said twice).
// Threads:  a call is self-contained; several may run at once.
// Never:    throws, prints, or reads a file.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <string_view>
#include <vector>

#include "engine/base/diagnostic.hpp"
#include "engine/base/source_text.hpp"
#include "grammar/frontend/ast.hpp"
#include "grammar/frontend/tokens.hpp"

namespace meniscus::grammar {

struct ParseLimits {
  std::size_t max_bytes = 4U << 20U;    // of the file; a longer one is not read at all
  std::uint32_t max_depth = 200;        // nesting of one expression, and terms in one chain
  std::uint32_t max_diagnostics = 200;  // after these, one note that there are more
  bool examples = true;                 // false: examples are passed over, where nothing is wrong
};

struct Parsed {
  std::unique_ptr<RuleFile> file;  // never null
  std::vector<engine::Diagnostic> diagnostics;
  std::vector<Token>
      tokens;  // as they were tagged, in source order; blanks and comments are in none
};

/// The tokens of a text before words are tagged.  `plain` false: the generated lexer tells all of
/// them, which takes longer and is what the others are held to.
std::vector<Token> raw_tokens(std::string_view text, bool plain = true);

Parsed parse(std::shared_ptr<const engine::SourceText> source, const ParseLimits& limits);

}  // namespace meniscus::grammar
