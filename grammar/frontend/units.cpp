// Units by the engine's table, asked piece by piece.
#include "grammar/frontend/units.hpp"

#include <algorithm>
#include <array>

namespace meniscus::grammar {
namespace {

constexpr auto kUnits = std::to_array<std::string_view>({
    "%",     "G",      "IU",    "N",     "U",      "cP",      "cm",      "d",    "day",
    "days",  "g",      "gauge", "h",     "hour",   "hours",   "in",      "inch", "inches",
    "kg",    "kIU",    "kN",    "kPa",   "lb",     "m",       "mIU",     "mL",   "mPa.s",
    "mark",  "marks",  "mcg",   "mg",    "min",    "minute",  "minutes", "mm",   "mmol",
    "month", "months", "ng",    "s",     "second", "seconds", "ug",      "uL",   "um",
    "unit",  "units",  "week",  "weeks", "wk",     "year",    "years",   "L",    "Pa.s",
    "mo",    "a",      "m2",    "Cel",   "mEq",    "MIU",     "MU",      "dose", "doses",
});

}  // namespace

bool is_unit(std::string_view text) {
  const std::size_t slash = text.find('/');
  const std::string_view first = text.substr(0, slash);
  if (std::find(kUnits.begin(), kUnits.end(), first) == kUnits.end()) return false;
  return slash == std::string_view::npos || is_unit(text.substr(slash + 1));
}

std::string near_unit(std::string_view text) {
  for (const std::string_view unit : kUnits) {
    if (unit.size() != text.size()) continue;
    const bool same = std::equal(unit.begin(), unit.end(), text.begin(),
                                 [](char a, char b) { return (a | 0x20) == (b | 0x20); });
    if (same) return std::string(unit);
  }
  return {};
}

}  // namespace meniscus::grammar
