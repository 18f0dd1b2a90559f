// Single known defects: each turns a right order into one with exactly one thing wrong.
//
// Kinds:   after published reports of errors with injections (look-alike names, strengths mixed up,
//          tenfold doses, weekly medicines daily, depots into a vein, pounds for kilograms: the
//          `cite` lines of rules/*.rule name the reports) and after each rule's own subject.
// Use:     inject() returns false, and changes nothing, where the defect cannot befall this order.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>

#include "tests/year/compose.hpp"

namespace meniscus::year {

/// The patient's latest injections, oldest first; day 0: none.
struct RecentPlace {
  std::int32_t day = 0;
  std::uint8_t place = 0;
};
using Recent = std::array<RecentPlace, 4>;

struct Case {
  Draft& draft;
  const Patient& patient;
  const Plan& plan;
  const Regimen& regimen;
  const Visit& visit;
  const Recent& recent;
  Random& random;
};

struct Defect {
  std::string_view name;
  std::string_view what;   // in words, for the report
  std::string_view rules;  // that should find it, `a b`: one of them is enough
  bool (*inject)(Case&);
  bool doubles = false;  // the defect is a second order beside the right one
};

std::span<const Defect> defects_of_numbers();  // amounts, writing, product, time, dose
std::span<const Defect> defects_of_plans();    // what belongs together
std::span<const Defect> defects_of_things();   // devices, place, vial, supply, patient, order
/// All of them, in the order of their numbers.
std::size_t defect_count();
const Defect& defect(std::size_t number);

}  // namespace meniscus::year
