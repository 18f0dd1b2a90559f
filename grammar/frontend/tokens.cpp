// The table of tokens and words, from tokens.def.
#include "grammar/frontend/tokens.hpp"

#include <algorithm>
#include <array>

namespace meniscus::grammar {
namespace {

constexpr auto kShown = std::to_array<std::string_view>({
    "the end of the file",
#define TOKEN(id, shown) shown,
#define WORD(id, phrase, place) "`" phrase "`",
#define ALSO(id, phrase, place)
#include "grammar/frontend/tokens.def"
#undef TOKEN
#undef WORD
#undef ALSO
});

std::string_view first_word(std::string_view phrase) { return phrase.substr(0, phrase.find(' ')); }

std::vector<Phrase> sorted_phrases() {
  std::vector<Phrase> all = {
#define TOKEN(id, shown)
#define WORD(id, phrase, place) {Tok::id, phrase, Place::place},
#define ALSO(id, phrase, place) {Tok::id, phrase, Place::place},
#include "grammar/frontend/tokens.def"
#undef TOKEN
#undef WORD
#undef ALSO
  };
  std::stable_sort(all.begin(), all.end(), [](const Phrase& a, const Phrase& b) {
    const int order = first_word(a.text).compare(first_word(b.text));
    return order != 0 ? order < 0 : a.text.size() > b.text.size();
  });
  return all;
}

}  // namespace

std::string_view shown(Tok kind) { return kShown[static_cast<std::size_t>(kind)]; }

const std::vector<Phrase>& phrases() {
  static const std::vector<Phrase> kAll = sorted_phrases();
  return kAll;
}

std::vector<Phrase>::const_iterator first_phrase(std::string_view word) {
  return std::lower_bound(
      phrases().begin(), phrases().end(), word,
      [](const Phrase& p, std::string_view w) { return first_word(p.text) < w; });
}

bool is_item(Tok kind) { return kind >= Tok::SETTING && kind <= Tok::EXTEND_TABLE; }

bool is_part(Tok kind) { return kind >= Tok::CONCERNS && kind <= Tok::EXPECT; }

bool ends_operand(Tok kind) {
  static constexpr auto kEnds = std::to_array<Tok>({
      Tok::NAME,
      Tok::PATH,
      Tok::DATE,
      Tok::NUMBER,
      Tok::FRACTION,
      Tok::MIXED,
      Tok::STRING,
      Tok::UNIT,
      Tok::RPAREN,
      Tok::TEXT_END,
      Tok::UNSET,
      Tok::ALL_ORDERS,
      Tok::IGNORE,
      Tok::GIVEN,
      Tok::MISSING,
      Tok::NONE,
      Tok::YES,
      Tok::NO,
      Tok::AS_WRITTEN,
      Tok::TODAY,
      Tok::PLANNED_DAY,
      Tok::ENGINE_VALUE,
      Tok::ACTIVE_ORDERS,
      Tok::EARLIER_ORDERS,
      Tok::EARLIER_INJECTIONS,
  });
  return std::find(kEnds.begin(), kEnds.end(), kind) != kEnds.end();
}

}  // namespace meniscus::grammar
