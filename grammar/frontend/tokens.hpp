// Tokens of a rule file, free of the parser generator's types.
//
// Flow:    bytes -> Scanner (names, numbers, signs) -> tag_words() -> tokens for the parser.
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "engine/base/source_text.hpp"

namespace meniscus::grammar {

enum class Tok : std::uint8_t {
  END,  // of the file
#define TOKEN(id, shown) id,
#define WORD(id, phrase, place) id,
#define ALSO(id, phrase, place)
#include "grammar/frontend/tokens.def"
#undef TOKEN
#undef WORD
#undef ALSO
};

struct Token {
  Tok kind = Tok::END;
  engine::Span span;
  friend bool operator==(const Token&, const Token&) = default;
};

/// Where a phrase counts as a word of the language.
enum class Place : std::uint8_t {
  Always,         // everywhere but where a new name is given (`let when = ...`)
  Item,           // at the start of a line
  Part,           // at the start of a line, or after a complete expression, name or text
  Operator,       // after a complete expression, name or text
  AfterIs,        // after `is` or `is not`
  In,             // after `is`, `is not` or a complete expression or name
  To,             // after a complete expression, `rounded`, `rounded up`
  AfterRounded,   // after `rounded`
  AfterOf,        // after `of`
  BeforeNumber,   // before a number, inside a query
  BeforeSource,   // before `last`, `earlier ...` or `active ...`
  BeforeFieldOf,  // before a field and `of`
  BeforeColumn,   // before a name and `in`: a column may be called `every`
};

struct Phrase {
  Tok kind = Tok::END;
  std::string_view text;
  Place place = Place::Always;
};

/// What a person calls it: "`say`", "a number".
std::string_view shown(Tok kind);
/// Phrases that begin with `word` (lower case), longest first.
std::vector<Phrase>::const_iterator first_phrase(std::string_view word);
/// All phrases, sorted by first word, longer ones first.
const std::vector<Phrase>& phrases();

bool is_item(Tok kind);
bool is_part(Tok kind);
/// After such a token an operator may follow.
bool ends_operand(Tok kind);

}  // namespace meniscus::grammar
