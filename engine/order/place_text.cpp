// Routes, sites and sides in free text (contract: place_text.hpp).
#include "engine/order/place_text.hpp"

#include <algorithm>
#include <array>

#include "engine/base/ascii.hpp"
#include "engine/order/free_text.hpp"

namespace meniscus::engine {
namespace {

using ascii::lower;

struct Phrase {
  std::array<std::string_view, 3> words;  // lower case; empty: no further word
  std::string_view route;
};
constexpr Phrase kRoutes[] = {
    {{"subcutaneous"}, "subcutaneous"},
    {{"subcutaneously"}, "subcutaneous"},
    {{"subcut"}, "subcutaneous"},
    {{"subq"}, "subcutaneous"},
    {{"sub", "q"}, "subcutaneous"},
    {{"sc"}, "subcutaneous"},
    {{"sq"}, "subcutaneous"},
    {{"under", "the", "skin"}, "subcutaneous"},
    {{"intramuscular"}, "intramuscular"},
    {{"intramuscularly"}, "intramuscular"},
    {{"im"}, "intramuscular"},
    {{"into", "the", "muscle"}, "intramuscular"},
    {{"in", "the", "muscle"}, "intramuscular"},
    {{"intravenous"}, "intravenous"},
    {{"intravenously"}, "intravenous"},
    {{"iv"}, "intravenous"},
    {{"into", "a", "vein"}, "intravenous"},
    {{"intradermal"}, "intradermal"},
    {{"intradermally"}, "intradermal"},
    {{"by", "mouth"}, "oral"},
    {{"orally"}, "oral"},
    {{"oral"}, "oral"},
    {{"topically"}, "topical"},
};

/// Words that may name a place on the body; the vocabulary says which.
constexpr std::array<std::string_view, 20> kPlaces = {
    "abdomen",  "abdominal", "stomach",      "belly",         "thigh", "thighs", "deltoid",
    "deltoids", "buttock",   "buttocks",     "gluteal",       "glute", "glutes", "gluteus",
    "gluteus",  "arm",       "dorsogluteal", "ventrogluteal", "hip",   "flank"};

bool names_place(const Token& token) {
  switch (lower(token.text.front())) {
    case 'a':
    case 'b':
    case 'd':
    case 'f':
    case 'g':
    case 'h':
    case 's':
    case 't':
    case 'v':
      break;
    default:
      return false;
  }
  return std::any_of(kPlaces.begin(), kPlaces.end(),
                     [&](std::string_view word) { return same_letters(token.text, word); });
}

/// `no injections in the left arm or thigh`, `do not use the right arm`: the place is ruled out.
/// What comes after `use`, or behind a comma with `in`, is not.
bool is_ruled_out(std::string_view text, const Tokens& t, std::size_t at) {
  constexpr std::array<std::string_view, 5> kNo = {"not", "never", "avoid", "no", "don"};
  constexpr std::array<std::string_view, 5> kUse = {"use", "inject", "give", "rotate", "alternate"};
  constexpr std::size_t kFurthest = 10;  // tokens
  const auto is_one_of = [&](std::size_t i, const auto& words) {
    return std::any_of(words.begin(), words.end(),
                       [&](std::string_view word) { return t.is(i, word); });
  };
  for (std::size_t back = 1; back <= kFurthest && back <= at; ++back) {
    const std::size_t i = at - back;
    const std::size_t end = t[i].offset + t[i].text.size();
    const std::string_view gap = text.substr(end, t[i + 1].offset - end);
    const auto has = [&](std::string_view mark) { return gap.find(mark) != gap.npos; };
    if (has(";") || has(". ")) return false;
    if (has(",") && (t.is(i + 1, "in") || t.is(i + 1, "into"))) return false;
    if (is_one_of(i, kNo)) return true;
    if (is_one_of(i, kUse) && (i == 0 || !(is_one_of(i - 1, kNo) || t.is(i - 1, "t"))))
      return false;
  }
  return false;
}

bool is_side(const Tokens& t, std::size_t at) { return t.is(at, "left") || t.is(at, "right"); }

std::string_view between(std::string_view text, const Tokens& t, std::size_t first,
                         std::size_t last) {
  const std::size_t end = t[last].offset + t[last].text.size();
  return text.substr(t[first].offset, end - t[first].offset);
}

/// The site by the longest of up to three words that end here, as the vocabulary knows it.
Value site_ending_at(const ReadContext& context, std::string_view text, const Tokens& t,
                     std::size_t at, std::size_t& first) {
  for (std::size_t back = std::min<std::size_t>(at, 2) + 1; back-- > 0;) {
    first = at - back;
    if (is_side(t, first) && back > 0) continue;
    const Value value = read_word(context, FieldId::Site, between(text, t, first, at));
    if (value.aux != kNoWord) return value;
  }
  std::string_view word = t[at].text;
  if (word.back() == 's') return read_word(context, FieldId::Site, word.substr(0, word.size() - 1));
  return Value::word(kNoWord, word);
}

}  // namespace

RouteWords route_at(const Tokens& t, std::size_t at) {
  switch (lower(t[at].text.front())) {
    case 'b':
    case 'i':
    case 'o':
    case 's':
    case 't':
    case 'u':
      break;
    default:
      return {};
  }
  for (const Phrase& phrase : kRoutes) {
    std::size_t used = 0;
    while (used < phrase.words.size() && !phrase.words[used].empty() &&
           t.is(at + used, phrase.words[used]))
      ++used;
    const bool all = used == phrase.words.size() || phrase.words[used].empty();
    if (all) return {phrase.route, used};
  }
  return {};
}

bool is_refused(const Tokens& t, std::size_t at) {
  for (std::size_t back = 1; back <= 4 && back <= at; ++back)
    for (const std::string_view no : {"not", "never", "avoid", "no", "than"})
      if (t.is(at - back, no)) return true;
  return false;
}

void read_place(const ReadContext& context, std::string_view text, const Tokens& t, std::size_t at,
                Found& site, Found& side) {
  if (is_side(t, at)) {
    // "right away" and "left over" are no sides: a place, or the word itself, has to follow.
    bool placed = t.is(at + 1, "side") || t.is(at + 1, "or") || t.is(at + 1, "and");
    for (std::size_t i = at + 1; !placed && i < t.size && i <= at + 3; ++i)
      placed = names_place(t[i]) || t.is(i, "leg");
    if (!placed || is_ruled_out(text, t, at)) return;
    const Value value = read_word(context, FieldId::Side, t[at].text);
    if (value.aux != kNoWord) side.add(value, t[at].text);
    return;
  }
  if (!names_place(t[at]) || is_ruled_out(text, t, at)) return;
  std::size_t first = at;
  const Value value = site_ending_at(context, text, t, at, first);
  if (value.aux != kNoWord) site.add(value, between(text, t, first, at));
}

}  // namespace meniscus::engine
