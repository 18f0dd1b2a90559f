// An order as the yardstick sees it: plain numbers in fixed units, NaN or 0 for what is missing.
#pragma once

#include <cstdint>
#include <limits>
#include <string_view>

namespace meniscus::bench {

inline constexpr double kMissing = std::numeric_limits<double>::quiet_NaN();
inline constexpr std::int64_t kNoDay = std::numeric_limits<std::int64_t>::min();

/// Text is owned by the input.
struct PlainOrder {
  std::string_view id;
  std::string_view substance;
  std::string_view vehicle;
  std::string_view route;
  std::string_view site;
  std::string_view allergy;  // the first one
  std::string_view vial_kind;
  double dose = kMissing;        // mg
  double strength = kMissing;    // mg/mL
  double volume = kMissing;      // mL
  double capacity = kMissing;    // mL
  double graduation = kMissing;  // mL
  double gauge = kMissing;       //
  double length = kMissing;      // mm
  double weight = kMissing;      // kg
  double every = kMissing;       // days
  std::int64_t placed = kNoDay;  // days since 1970-01-01
  std::int64_t start = kNoDay;
  std::int64_t last = kNoDay;
  std::int64_t opened = kNoDay;
};

}  // namespace meniscus::bench
