// Contract: see amount_text.hpp.
#include "adapters/hl7v2/amount_text.hpp"

#include <algorithm>
#include <array>

#include "adapters/hl7v2/codes.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

bool is_plain_digit(char c) { return c >= '0' && c <= '9'; }

std::string grouped(std::string_view number) {
  const auto* const end = std::ranges::find_if_not(number, is_plain_digit);
  const auto whole = static_cast<std::size_t>(end - number.begin());
  std::string text(number);
  if (whole < 4) return text;
  for (std::size_t at = whole - 3; at > 0; at = at > 3 ? at - 3 : 0)
    text.insert(at, 1, ',');
  return text;
}

struct Spelling {
  std::string_view code;
  std::string_view word;
};
constexpr std::array<Spelling, 8> kSpellings = {{{"U", "units"},
                                                 {"IU", "units"},
                                                 {"[IU]", "units"},
                                                 {"CC", "mL"},
                                                 {"[LB_AV]", "lb"},
                                                 {"[OZ_AV]", "oz"},
                                                 {"[IN_I]", "in"},
                                                 {"[FT_I]", "ft"}}};

}  // namespace

std::string_view unit_word(std::string_view unit) {
  const auto* const found = std::ranges::find(kSpellings, upper(unit), &Spelling::code);
  return found == kSpellings.end() ? unit : found->word;
}

std::string amount_text(std::string_view number, std::string_view unit) {
  std::string text = grouped(number);
  text += ' ';
  text += unit_word(unit);
  return text;
}

}  // namespace meniscus::adapters::hl7v2
