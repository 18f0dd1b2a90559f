// A decimal number as it stands in a text, before it becomes a double.
//
// Holds:   up to 19 digits exactly, so that a conversion to base units rounds once: 300 ug and
//          0.3 mg give the same double, bit for bit.
// Internal to engine/quantity.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>

#include "engine/base/result.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::engine::detail {

struct Decimal {
  std::uint64_t digits = 0;   // without the decimal mark
  std::int32_t scale = 0;     // digits after the mark; value = digits / 10^scale
  std::uint64_t divisor = 1;  // of a fraction; else 1
  double value = 0;           // used instead where `wide`
  bool wide = false;          // more digits than fit
  bool negative = false;
  bool one_group = false;  // `5,000` where a point is declared: thousands of units, else doubtful
};

struct Scanned {
  Decimal decimal;
  std::size_t used = 0;  // bytes
};

/// Reads the number at the start of `text`.  Errors as parse_number().
Result<Scanned> scan_number(std::string_view text, DecimalMark mark, bool fractions);

/// Why a number with `one_group` is doubtful as anything but units.
Error doubtful_group(std::string_view text);

/// decimal * factor / divisor, rounded once where the whole numbers allow it.
double scaled(const Decimal& decimal, double factor, double divisor);

}  // namespace meniscus::engine::detail
