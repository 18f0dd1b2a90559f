// Numbers and quantities to text (contract: quantity.hpp; table: docs/units.md).
//
// Rounding: half up, away from zero, on the decimal digits, once.  A double carries noise in its
//           16th digit (50 mg / (80 mg/mL) is 0.6249999999999999 mL), so digits behind the 14th are
//           taken for noise first, unless more than 14 are asked for.
#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <optional>

#include "engine/quantity/unit_table.hpp"

namespace meniscus::engine {
namespace {

constexpr int kReliable = 14;  // digits
constexpr double kMonth = 2629800;
constexpr double kYear = 31557600;
constexpr double kDay = 86400;

/// The digits of a positive number: 0.d1d2d3... times 10^point.
struct Digits {
  std::array<char, 20> text{};
  int count = 0;
  int point = 0;
};

/// The digits of a number that is whole but for noise when its point is moved by at most six
/// places, as most amounts are.  Noise of 4e-15 and that of the product are less than half a unit
/// of the 14th digit, and what is whole has 13 at most, so rounding to 14 gives the same digits.
std::optional<Digits> short_digits(double value) {
  constexpr std::array<double, 7> kPowers = {1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6};
  for (std::size_t places = 0; places < kPowers.size(); ++places) {
    const double moved = value * kPowers.at(places);
    if (!(moved < 1e13)) return std::nullopt;
    auto whole = static_cast<double>(static_cast<std::int64_t>(moved));
    if (moved - whole > 0.5) ++whole;
    if (whole < 1 || std::fabs(moved - whole) > 4e-15 * whole) continue;
    Digits digits;
    char* const first = digits.text.data();
    const auto number = static_cast<std::int64_t>(whole);
    const char* const end = std::to_chars(first, first + digits.text.size(), number).ptr;
    digits.count = static_cast<int>(end - first);
    digits.point = digits.count - static_cast<int>(places);
    return digits;
  }
  return std::nullopt;
}

Digits digits_of(double value, int wanted) {
  if (wanted <= kReliable)
    if (const std::optional<Digits> digits = short_digits(value)) return *digits;
  std::array<char, 40> buffer{};
  char* const first = buffer.data();
  char* const last = first + buffer.size();
  const auto end =
      wanted > kReliable
          ? std::to_chars(first, last, value, std::chars_format::scientific).ptr
          : std::to_chars(first, last, value, std::chars_format::scientific, kReliable - 1).ptr;
  Digits digits;
  const char* at = first;
  for (; at != end && *at != 'e'; ++at)
    if (*at != '.') digits.text[static_cast<std::size_t>(digits.count++)] = *at;
  int exponent = 0;
  const char* power = at + 1;
  if (power != end && *power == '+') ++power;
  std::from_chars(power, end, exponent);
  digits.point = exponent + 1;
  return digits;
}

void round_half_up(Digits& d, int wanted) {
  if (d.count > wanted) {
    bool carry = d.text[static_cast<std::size_t>(wanted)] >= '5';
    d.count = wanted;
    for (int i = wanted - 1; carry && i >= 0; --i) {
      char& digit = d.text[static_cast<std::size_t>(i)];
      carry = digit == '9';
      digit = carry ? '0' : static_cast<char>(digit + 1);
    }
    if (carry) {  // 9.99 became 0.00: one digit more in front
      d.text[0] = '1';
      d.count = 1;
      ++d.point;
    }
  }
  while (d.count > 1 && d.text[static_cast<std::size_t>(d.count - 1)] == '0')
    --d.count;
}

bool is_whole(double value) {
  return std::fabs(value - std::round(value)) <= kTolerance * std::fabs(value);
}

/// A unit as it is shown.
struct Shown {
  std::string_view one;
  std::string_view many;
  double factor = 1;
  double divisor = 1;
  double offset = 0;
};

constexpr Shown same(std::string_view text, double factor, double divisor = 1) {
  return {text, text, factor, divisor, 0};
}

Shown shown_mass(double v) {
  if (v >= 1e6) return same("kg", 1e6);
  if (v >= 1000) return same("g", 1000);
  if (v >= 0.1 || v == 0) return same("mg", 1);
  return v >= 1e-4 ? same("mcg", 1, 1000) : same("ng", 1, 1e6);
}

Shown shown_time(double v) {
  constexpr Shown kYears{"year", "years", kYear, 1, 0};
  constexpr Shown kMonths{"month", "months", kMonth, 1, 0};
  constexpr Shown kDays{"day", "days", kDay, 1, 0};
  constexpr Shown kHours{"hour", "hours", 3600, 1, 0};
  constexpr Shown kMinutes{"minute", "minutes", 60, 1, 0};
  constexpr Shown kSeconds{"second", "seconds", 1, 1, 0};
  if (v == 0) return kDays;
  if (v >= kYear && is_whole(v / kYear)) return kYears;
  if (v >= kMonth && is_whole(v / kMonth)) return kMonths;
  if (v >= kDay && is_whole(v / kDay)) return kDays;
  if (v >= 3600 && v <= 3 * kDay && is_whole(v / 1800)) return kHours;
  if (v >= kDay) return kDays;
  if (v >= 60 && is_whole(v / 60)) return kMinutes;
  if (v >= 3600) return kHours;
  return v >= 120 ? kMinutes : kSeconds;
}

Shown shown_per_volume(double v) {
  return v >= 1e-6 || v == 0 ? same("mg/mL", 1, 1000) : same("mcg/mL", 1, 1e6);
}

Shown shown_per_body_mass(double v) {
  return v >= 1e-7 || v == 0 ? same("mg/kg", 1, 1e6) : same("mcg/kg", 1, 1e9);
}

struct Named {
  Dimension dimension;
  Shown shown;
};
/// Dimensions with one unit whatever their size.
constexpr Named kNamed[] = {
    {dim::kVolume, same("mL", 1000)},
    {dim::kBodyMass, same("kg", 1e6)},
    {dim::kBiological, {"unit", "units", 1, 1, 0}},
    {dim::kMark, {"mark", "marks", 1, 1, 0}},
    {dim::kTemperature, {"\u00B0C", "\u00B0C", 1, 1, 273.15}},
    {dim::kAmountOfSubstance, same("mmol", 1, 1000)},
    {dim::kEquivalent, same("mEq", 1, 1000)},
    {dim::kBiologicalPerVolume, same("units/mL", 1, 1000)},
    {dim::kAmountOfSubstance / dim::kVolume, same("mmol/mL", 1, 1e6)},
    {dim::kEquivalent / dim::kVolume, same("mEq/mL", 1, 1e6)},
    {dim::kBiological / dim::kBodyMass, same("units/kg", 1, 1e6)},
    {dim::kVolume / dim::kBodyMass, same("mL/kg", 1000, 1e6)},
    {dim::kAmountOfSubstance / dim::kBodyMass, same("mmol/kg", 1, 1e9)},
    {dim::kEquivalent / dim::kBodyMass, same("mEq/kg", 1, 1e9)},
    {dim::kMass / dim::kTime, same("mg/day", 1, kDay)},
    {dim::kBiological / dim::kTime, same("units/day", 1, kDay)},
    {dim::kMass / dim::kBodyMass / dim::kTime, same("mg/kg/day", 1, 1e6 * kDay)},
    {dim::kBiological / dim::kBodyMass / dim::kTime, same("units/kg/day", 1, 1e6 * kDay)},
    {dim::kVolumePerMark, same("mL/mark", 1000)},
    {dim::kMass / dim::kMark, same("mg/mark", 1)},
    {dim::kBiological / dim::kMark, same("units/mark", 1)},
    {dim::kMass / dim::kArea, same("mg/m2", 1, 1e6)},
    {dim::kLength / dim::kTime, same("mm/s", 1)},
    {dim::kNumber / dim::kTime, same("/day", 1, kDay)},
    {dim::kViscosity, same("mPa.s", 1)},
    {dim::kForce, same("N", 1e9)},
    {dim::kPressure, same("kPa", 1e6)},
};

/// The unit for a dimension and a size (without its sign); empty where it has none of its own.
Shown shown_in(Dimension dimension, double size) {
  if (dimension == dim::kMass) return shown_mass(size);
  if (dimension == dim::kTime) return shown_time(size);
  if (dimension == dim::kMassPerVolume) return shown_per_volume(size);
  if (dimension == dim::kMass / dim::kBodyMass) return shown_per_body_mass(size);
  if (dimension == dim::kLength) return size < 300 ? same("mm", 1) : same("cm", 10);
  if (dimension == dim::kArea) return size < 1e5 ? same("mm2", 1) : same("m2", 1e6);
  if (dimension == dim::kVolume / dim::kTime)
    return size >= 100 || size == 0 ? same("mL/s", 1000) : same("mL/h", 1000, 3600);
  for (const Named& named : kNamed)
    if (named.dimension == dimension) return named.shown;
  return {};
}

/// Base units of a dimension without a name, readable as a UCUM-like product: `mg2.mm-3`.
std::string base_unit_text(Dimension dimension) {
  constexpr std::array<std::string_view, kBaseCount> kNames = {"mg",   "mm", "s",   "kg", "unit",
                                                               "mark", "K",  "mol", "eq"};
  std::string text;
  for (std::size_t i = 0; i < kNames.size(); ++i) {
    const int power = dimension.exponent(static_cast<Base>(i));
    if (power == 0) continue;
    if (!text.empty()) text += '.';
    text += kNames[i];
    if (power != 1) text += std::to_string(power);
  }
  return text;
}

/// Enough digits that no digit before the decimal point is rounded away.
std::string number_text(double value, int digits) {
  const double size = std::fabs(value);
  const bool is_short = size < 10 || !std::isfinite(size);
  const int whole = is_short ? 1 : static_cast<int>(std::floor(std::log10(size))) + 1;
  return format_number(value, whole > digits && whole <= 15 ? whole : digits);
}

std::string text_of(double value, const Shown& shown, int digits) {
  std::string text = number_text((value - shown.offset) * shown.divisor / shown.factor, digits);
  const bool one = text == "1" || text == "-1";
  text += ' ';
  text += one ? shown.one : shown.many;
  return text;
}

struct Plural {
  std::string_view one;
  std::string_view many;
};
constexpr Plural kPlurals[] = {{"unit", "units"},     {"mark", "marks"},   {"second", "seconds"},
                               {"minute", "minutes"}, {"hour", "hours"},   {"day", "days"},
                               {"week", "weeks"},     {"month", "months"}, {"year", "years"}};

}  // namespace

std::string format_number(double value, int digits) {
  if (std::isnan(value)) return "not a number";
  if (std::isinf(value)) return value < 0 ? "-infinity" : "infinity";
  if (value == 0) return "0";
  const int wanted = digits < 1 ? 1 : digits > 17 ? 17 : digits;
  Digits d = digits_of(std::fabs(value), wanted);
  round_half_up(d, wanted);
  std::string text = value < 0 ? "-" : "";
  const std::string_view all(d.text.data(), static_cast<std::size_t>(d.count));
  if (d.point <= 0) {
    text += "0.";
    text.append(static_cast<std::size_t>(-d.point), '0');
    text += all;
  } else if (d.point >= d.count) {
    text += all;
    text.append(static_cast<std::size_t>(d.point - d.count), '0');
  } else {
    text += all.substr(0, static_cast<std::size_t>(d.point));
    text += '.';
    text += all.substr(static_cast<std::size_t>(d.point));
  }
  return text;
}

std::string format_quantity(const AnyQuantity& quantity, int digits) {
  if (quantity.dimension.is_number()) return number_text(quantity.value, digits);
  const Shown shown = shown_in(quantity.dimension, std::fabs(quantity.value));
  if (!shown.one.empty()) return text_of(quantity.value, shown, digits);
  const int patient = quantity.dimension.exponent(Base::BodyMass);
  const double kilograms = quantity.value / std::pow(1e6, patient);
  return number_text(kilograms, digits) + " " + base_unit_text(quantity.dimension);
}

std::string format_quantity_in(const AnyQuantity& quantity, std::string_view unit, int digits) {
  const Result<detail::Ratio> ratio = detail::parse_ratio(unit, UnitSet::Order);
  if (!ratio) return format_quantity(quantity, digits);
  const bool patient = quantity.dimension == dim::kBodyMass && ratio->dimension == dim::kMass;
  if (ratio->dimension != quantity.dimension && !patient) return format_quantity(quantity, digits);
  Shown shown{unit, unit, ratio->factor, ratio->divisor, ratio->offset};
  for (const Plural& plural : kPlurals) {
    if (unit != plural.one && unit != plural.many) continue;
    shown.one = plural.one;
    shown.many = plural.many;
  }
  return text_of(quantity.value, shown, digits);
}

}  // namespace meniscus::engine
