// Who comes to Slatemoor in a year, what for, and when: a calendar of orders and injections.
//
// Holds:   for each patient a plan of one to three medicines, and for each plan its visits: orders
//          for a few doses each, changes of dose, stops, and the injections that the clinic gave.
//          Intervals are kept to a day or so, and sites rotate over all plans of a patient.
// Order:   by the time at which each was written down.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "tests/year/formulary.hpp"

namespace meniscus::year {

struct Plan {
  std::uint8_t regimen = 0;  // index of formulary()
  bool at_home = false;
  bool treated_before = false;  // before the year began
};

struct Patient {
  std::uint32_t number = 0;  // 1: SM-0001
  std::int64_t born = 0;     // days since 1970-01-01
  bool female = false;
  double kilograms = 0;
  std::string allergies;  // `a; b`, or none
  std::vector<Plan> plans;
};

enum class VisitKind : std::uint8_t { Order, Change, Stop, Given };

struct Visit {
  std::int64_t minute = 0;    // since 1970-01-01, local: when it was written down
  std::int32_t start = 0;     // day of the first dose, or of the injection
  std::int32_t last = 0;      // day of the injection before; 0: none
  std::uint32_t patient = 0;  // index
  std::uint16_t order = 0;    // which order of the plan, from 0
  std::int16_t doses = 1;     // that the order is for
  std::uint8_t plan = 0;
  bool stepped = false;    // the dose has changed since the plan began
  std::uint8_t rung = 0;   // which dose of the regimen
  std::uint8_t place = 0;  // index of places()
  VisitKind kind{};
};

/// A site and a side that one injection can go to.
struct Place {
  std::string_view site;
  std::string_view side;
  std::string_view region;
};
const Place& place(std::uint8_t index);

struct Calendar {
  std::vector<Patient> patients;
  std::vector<Visit> visits;  // by `minute`
};

/// The year from `first_day` (days since 1970-01-01) for so many patients.
Calendar make_calendar(std::uint64_t seed, std::size_t patients, std::int64_t first_day);

}  // namespace meniscus::year
