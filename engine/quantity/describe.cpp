// Names of dimensions, near spellings and the rule language's list (contract: quantity.hpp).
#include <algorithm>
#include <array>
#include <limits>
#include <vector>

#include "engine/quantity/unit_table.hpp"

#include "engine/base/ascii.hpp"

namespace meniscus::engine {
namespace {

using ascii::lower;

struct Name {
  Dimension dimension;
  std::string_view text;
};
constexpr Name kWhole[] = {{dim::kNumber, "number"},
                           {dim::kMass, "mass"},
                           {dim::kLength, "length"},
                           {dim::kArea, "area"},
                           {dim::kVolume, "volume"},
                           {dim::kTime, "time"},
                           {dim::kBodyMass, "body mass"},
                           {dim::kBiological, "biological units"},
                           {dim::kMark, "marks"},
                           {dim::kTemperature, "temperature"},
                           {dim::kForce, "force"},
                           {dim::kPressure, "pressure"},
                           {dim::kViscosity, "viscosity"},
                           {dim::kAmountOfSubstance, "amount of substance"},
                           {dim::kEquivalent, "equivalents"}};

constexpr std::array<std::string_view, kBaseCount> kParts = {"mass",
                                                             "length",
                                                             "time",
                                                             "body mass",
                                                             "biological units",
                                                             "mark",
                                                             "temperature",
                                                             "amount of substance",
                                                             "equivalent"};

/// The order in which people say them: a dose is per body mass per time.
constexpr std::array<Base, kBaseCount> kSpoken = {
    Base::Mass,        Base::Biological, Base::Amount,   Base::Equivalent, Base::Length,
    Base::Temperature, Base::Mark,       Base::BodyMass, Base::Time};

/// The factors on one side of the fraction line, volume and area by their names.
std::vector<std::string> parts(Dimension dimension, int side) {
  std::vector<std::string> found;
  for (const Base base : kSpoken) {
    int power = dimension.exponent(base) * side;
    if (base == Base::Length && (power == 2 || power == 3)) {
      found.emplace_back(power == 2 ? "area" : "volume");
      continue;
    }
    for (; power > 0; --power)
      found.emplace_back(kParts[static_cast<std::size_t>(base)]);
  }
  return found;
}

constexpr std::size_t kLongest = 24;

/// Edit distance: 2 for a letter more, less or other, 1 for another letter case.
int distance(std::string_view a, std::string_view b) {
  std::array<int, kLongest + 1> row{};
  for (std::size_t j = 0; j <= b.size(); ++j)
    row[j] = static_cast<int>(2 * j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    int diagonal = row[0];
    row[0] = static_cast<int>(2 * i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const char x = a[i - 1];
      const char y = b[j - 1];
      const int change = x == y ? 0 : lower(x) == lower(y) ? 1 : 2;
      const int best = std::min({row[j] + 2, row[j - 1] + 2, diagonal + change});
      diagonal = row[j];
      row[j] = best;
    }
  }
  return row[b.size()];
}

constexpr std::array<std::string_view, 39> kRuleUnits = {
    "mg",  "mcg",    "g",       "kg", "ng",   "mL",    "L",   "uL",   "unit",   "units",
    "IU",  "mark",   "marks",   "mm", "cm",   "m",     "in",  "s",    "second", "seconds",
    "min", "minute", "minutes", "h",  "hour", "hours", "day", "days", "week",   "weeks",
    "wk",  "month",  "months",  "mo", "year", "years", "N",   "kPa",  "Pa"};
constexpr std::array<std::string_view, 6> kMoreRuleUnits = {"mPa.s", "cP",   "%",
                                                            "lb",    "mmol", "mEq"};

constexpr auto kAllRuleUnits = [] {
  std::array<std::string_view, kRuleUnits.size() + kMoreRuleUnits.size()> all{};
  std::copy(kRuleUnits.begin(), kRuleUnits.end(), all.begin());
  std::copy(kMoreRuleUnits.begin(), kMoreRuleUnits.end(), all.begin() + kRuleUnits.size());
  return all;
}();

}  // namespace

std::string describe(Dimension dimension) {
  for (const Name& name : kWhole)
    if (name.dimension == dimension) return std::string(name.text);
  std::string text;
  for (const std::string& part : parts(dimension, 1)) {
    if (!text.empty()) text += " times ";
    text += part;
  }
  if (text.empty()) text = "number";
  for (const std::string& part : parts(dimension, -1))
    text += " per " + part;
  return text;
}

namespace {
/// What the set calls a unit that is known elsewhere by another spelling: `in` for `inch`.
std::string_view same_unit(std::string_view text, UnitSet set) {
  const auto rows = detail::unit_rows();
  const auto known = std::ranges::find(rows, text, &detail::UnitRow::text);
  if (known == rows.end()) return {};
  for (const detail::UnitRow& row : rows) {
    const bool same = row.dimension == known->dimension && row.offset == known->offset &&
                      row.factor * known->divisor == known->factor * row.divisor;
    if (same && (row.flags & detail::flag_of(set)) != 0) return row.text;
  }
  return {};
}
}  // namespace

std::string nearest_unit(std::string_view text, UnitSet set) {
  if (text.empty() || text.size() > kLongest) return {};
  if (const std::string_view same = same_unit(text, set); !same.empty()) return std::string(same);
  const int allowed = std::max(2, std::min(4, static_cast<int>(text.size())));
  int best = allowed + 1;
  std::string_view nearest;
  for (const detail::UnitRow& row : detail::unit_rows()) {
    if ((row.flags & detail::flag_of(set)) == 0 || row.text.size() > kLongest) continue;
    if (row.text.size() > text.size() + 2 || text.size() > row.text.size() + 2) continue;
    const int cost = distance(text, row.text);
    // A spelling of which nothing would be left is not near.
    const auto all = static_cast<int>(2 * std::min(text.size(), row.text.size()));
    if (cost >= best || cost >= all) continue;
    best = cost;
    nearest = row.text;
  }
  return std::string(nearest);
}

std::span<const std::string_view> rule_units() { return kAllRuleUnits; }

}  // namespace meniscus::engine
