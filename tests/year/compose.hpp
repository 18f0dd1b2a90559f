// A visit of the calendar as the record that the clinic's system would write: every field that the
// rules read, right by the shipped tables.
#pragma once

#include <string_view>

#include "tests/year/draft.hpp"
#include "tests/year/patients.hpp"
#include "tests/year/random.hpp"

namespace meniscus::year {

struct Numbers {
  std::string_view id;       // of this record
  std::string_view fulfils;  // Given: the order that it belongs to
};

/// Fills `draft`, which must be new.
void compose(Draft& draft, const Patient& patient, const Visit& visit, const Numbers& numbers,
             Random& random);

/// A smaller syringe that holds `millilitres` and can measure them: "1 mL", "3 mL", "5 mL".
void set_syringe(Draft& draft, double millilitres);

/// Vials and what they hold, for all doses of the order.
void set_supply(Draft& draft, const Regimen& regimen);

/// "Inject 0.25 mL under the skin once a week".
std::string directions(const Draft& draft, const Regimen& regimen);

}  // namespace meniscus::year
