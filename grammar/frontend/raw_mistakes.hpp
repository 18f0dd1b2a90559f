// Wording for what can be wrong with a single token, and what was most likely meant by it.
#pragma once

#include <cstddef>
#include <string_view>
#include <vector>

#include "engine/base/source_text.hpp"
#include "grammar/frontend/sink.hpp"
#include "grammar/frontend/tokens.hpp"

namespace meniscus::grammar {

/// Mistakes that are reported once a file.
struct RawState {
  bool tab_reported = false;
};

/// What to go on with: a number, other tokens, nothing, or (all empty) the token itself.
struct Replacement {
  bool is_number = false;
  bool drop = false;
  std::vector<Tok> kinds;
};

/// A phrase found at a raw token; `words` is 0 when there is none.
struct Match {
  Tok kind = Tok::END;
  engine::Span span;
  std::size_t words = 0;
  bool in_capitals = false;
  std::string_view phrase;
};

Replacement report_raw_mistake(const Token& token, Sink& sink, RawState& state);
void report_capitals(const Match& match, Sink& sink);
void report_unknown_unit(engine::Span span, Sink& sink);
/// `a-b`, `2*x`, `x/y`: minus, times and divide need blanks around them.
void report_glued_operator(const Token& token, Tok before, Sink& sink);
/// A text without its closing quote, or in quotes of another kind.
void report_string_mistake(const Token& token, Sink& sink);
/// The bytes between the quotes, whatever quotes they are.
engine::Span inside_quotes(const Token& token, const engine::SourceText& source);

}  // namespace meniscus::grammar
