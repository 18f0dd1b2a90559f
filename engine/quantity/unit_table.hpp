// The spellings of units that are known as they stand, found by one hash probe.
//
// Holds:   UCUM atoms, the trade's spellings, the rule language's closed list, and the compound
//          forms that orders are full of (`mg/mL`, `units/kg`).  Everything else is put together
//          by unit_parser.cpp.
// Factor:  base = value * factor / divisor + offset.  Factor and divisor are whole numbers wherever
//          the definition is a ratio of decimals, so that one rounding is all a conversion costs.
// Internal to engine/quantity.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>

#include "engine/quantity/dimension.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::engine::detail {

enum UnitFlag : std::uint8_t {
  kInUcum = 1,
  kInOrder = 2,
  kInRule = 4,
  kMetric = 8,     // takes the decimal prefixes
  kAnyCase = 16,   // the trade writes it in any letter case
  kCompound = 32,  // a product or quotient: takes neither prefix nor exponent
  kPatient = 64    // beneath a fraction line it is a mass of the patient
};

struct UnitRow {
  std::string_view text;
  double factor = 1;
  double divisor = 1;
  double offset = 0;
  Dimension dimension;
  std::uint8_t flags = 0;
};

inline std::uint8_t flag_of(UnitSet set) {
  switch (set) {
    case UnitSet::Ucum:
      return kInUcum;
    case UnitSet::Order:
      return kInOrder;
    case UnitSet::Rule:
      return kInRule;
  }
  return 0;
}

/// The row spelt exactly `text` with all bits of `flags`, or null.
const UnitRow* find_row(std::string_view text, std::uint8_t flags);
std::span<const UnitRow> unit_rows();

/// Why a spelling is refused although somebody uses it, or empty.  Letter case does not matter.
std::string_view why_doubtful(std::string_view text);

struct Prefix {
  std::string_view text;
  double factor = 1;
  double divisor = 1;
};
std::span<const Prefix> prefixes();

/// A unit put together, still as a ratio.
struct Ratio {
  double factor = 1;
  double divisor = 1;
  double offset = 0;
  Dimension dimension;
};
/// What parse_unit() does, before the ratio is divided out.
Result<Ratio> parse_ratio(std::string_view text, UnitSet set);

}  // namespace meniscus::engine::detail
