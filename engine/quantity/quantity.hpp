// Numbers with their unit: text in, base units inside, text out.
//
// Base:      see dimension.hpp (milligram, millimetre, second ...); `value` is always in base
// units. Numbers:   doubles.  Every conversion factor is a ratio of decimals, so a value that was
// written
//            with up to 15 digits is off by a few units in the 16th; compare() treats values within
//            kTolerance (relative) as equal and subtract() returns an exact zero when the operands
//            cancel to noise, so no comparison at a limit is decided by rounding.
// Never:     reads a locale, guesses a decimal style, or converts between dimensions.
#pragma once

#include <cmath>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "engine/base/result.hpp"
#include "engine/quantity/dimension.hpp"

namespace meniscus::engine {

inline constexpr double kTolerance = 1e-9;

/// -1, 0 or 1; values within kTolerance of the larger magnitude are equal.
inline int compare(double a, double b) {
  const double room = kTolerance * std::fmax(std::fabs(a), std::fabs(b));
  if (a < b - room) return -1;
  return a > b + room ? 1 : 0;
}
/// a - b, and exactly 0 where they agree within kTolerance.
inline double subtract(double a, double b) { return compare(a, b) == 0 ? 0.0 : a - b; }

struct AnyQuantity {
  double value = 0;  // base units
  Dimension dimension;
  friend bool operator==(const AnyQuantity&, const AnyQuantity&) = default;
};

/// A unit as a factor to base units.  `offset` is non-zero only for the Celsius and Fahrenheit
/// scales (base = value * factor + offset), which stand alone and never inside a product.
struct Unit {
  double factor = 1;
  double offset = 0;
  Dimension dimension;
};

enum class UnitSet : std::uint8_t {
  Ucum,   // case-sensitive UCUM codes only
  Order,  // UCUM and the trade's spellings (mcg, unit, IU, in, days, cc ...)
  Rule    // the closed list of the rule language (docs/units.md)
};
enum class DecimalMark : std::uint8_t { Point, Comma };

/// Reads a whole text as one unit.  Errors: UnknownUnit (names the nearest), Syntax.
Result<Unit> parse_unit(std::string_view text, UnitSet set);

/// Reads a number in the declared style.  `0,25` under Point and `1.000` / `1,000` under either are
/// Ambiguous; `1e309` is OutOfRange; exponents, NaN and infinity are NotANumber; `1/2` and `1 1/2`
/// are numbers only when `fractions` is set.  `.5` is read.
Result<double> parse_number(std::string_view text, DecimalMark mark, bool fractions = false);

struct QuantityStyle {
  DecimalMark mark = DecimalMark::Point;
  UnitSet units = UnitSet::Order;
  bool body_mass = false;  // a plain mass unit is read as body mass (patient.weight)
};

/// Reads "2.5 mg", "0.25mL", "1 mg/kg" (per kilogram of body mass), "5/8 in", "U-100" is no
/// quantity. Shape: number, optional blanks, one unit; the whole text must be used. Errors:
/// NotANumber, OutOfRange, Ambiguous, MissingUnit, UnknownUnit.
Result<AnyQuantity> parse_quantity(std::string_view text, const QuantityStyle& style = {});

/// The same, from a number and a unit that stand apart.
Result<AnyQuantity> parse_quantity_parts(std::string_view number, std::string_view unit,
                                         const QuantityStyle& style = {});

/// Reads a strength: "200 mg/mL", "100 mg/5 mL", "80mg/0.8mL", "1 % w/v" and "1 %" (grams per
/// 100 mL, a pharmacy convention), "1:1000" (grams per millilitres), "100 units/mL", "U-100".
Result<AnyQuantity> parse_strength(std::string_view text, const QuantityStyle& style = {});

/// Reads a range "3-6 mL", "50 to 100 mg" into low and high; a single quantity gives low == high.
struct QuantityRange {
  AnyQuantity low;
  AnyQuantity high;
};
Result<QuantityRange> parse_range(std::string_view text, const QuantityStyle& style = {});

/// Reads "25 G", "25G", "25 gauge", "25".  Shape: whole number 6 to 34.  Source: ISO 9626 range.
Result<double> parse_gauge(std::string_view text);

/// Shortest decimal, half up, at most `digits` significant figures, never padded, no exponent:
/// 0.25, 1000, 0.0003.
std::string format_number(double value, int digits = 6);

/// "0.25 mL", "50 mg", "7 days": in the unit a nurse would use for that dimension and size
/// (docs/units.md has the table).  A dimension without a name of its own is shown in base units.
std::string format_quantity(const AnyQuantity& quantity, int digits = 4);
/// In the given unit ("mL", "in"); falls back to the above when the dimension does not fit.
std::string format_quantity_in(const AnyQuantity& quantity, std::string_view unit, int digits = 4);

/// "mass", "volume", "mass per volume", "biological units per volume", "time", "number" ...
std::string describe(Dimension dimension);

/// The units of the rule language, without the products and quotients (`mg/kg/day`) that `.` and
/// `/` make of them.
std::span<const std::string_view> rule_units();

/// The known spelling nearest to `text` in edit distance, or empty when nothing is near.
std::string nearest_unit(std::string_view text, UnitSet set);

}  // namespace meniscus::engine
