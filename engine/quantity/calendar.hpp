// Calendar dates and instants.
//
// Holds:   a civil (local) date and time as seconds since 1970-01-01T00:00 of the same local
//          calendar, how precise it was written, and the offset from UTC if it was written.
// Why:     the trade counts in calendar days: seven days from 23:30 to 22:30 across a clock change
//          are seven days.  Only `time since` looks at the offset.
// Range:   years 1800 to 2200; anything else is NotADate.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "engine/base/result.hpp"

namespace meniscus::engine {

enum class Precision : std::uint8_t { Year, Month, Day, Minute, Second };
enum class DateOrder : std::uint8_t { Ymd, Dmy, Mdy };

struct Date {
  std::int64_t seconds = 0;  // local
  Precision precision = Precision::Day;
  bool has_offset = false;
  std::int16_t offset_minutes = 0;  // east of UTC

  [[nodiscard]] std::int64_t day() const {  // days since 1970-01-01, local
    return seconds >= 0 ? seconds / 86400 : -((86399 - seconds) / 86400);
  }
  friend bool operator==(const Date&, const Date&) = default;
};

struct CivilDay {
  int year = 1970;
  unsigned month = 1;  // 1 to 12
  unsigned day = 1;    // 1 to 31
};
CivilDay civil_from_days(std::int64_t days);
std::int64_t days_from_civil(const CivilDay& day);
unsigned last_day_of_month(int year, unsigned month);

/// The word a Date travels in through evaluation, beside its seconds as a number.
std::uint64_t pack(const Date& date);
Date unpack(double seconds, std::uint64_t packed);

/// ISO 8601 (`2026-03-02`, `2026-03`, `2026-03-02T09:14:00+01:00`, `...Z`), and, when `order` says
/// so, `02/03/2026`, `02.03.2026` ...  A date with slashes under Ymd is Ambiguous, `2026-02-30` is
/// NotADate.  `month_end`: a month-only date stands for its last day (expiry dates), else its
/// first.
Result<Date> parse_date(std::string_view text, DateOrder order = DateOrder::Ymd,
                        bool month_end = false);
/// HL7 v2 DTM: YYYY[MM[DD[HH[MM[SS[.S...]]]]]][+/-ZZZZ]; impossible or odd-length texts are
/// NotADate.
Result<Date> parse_hl7_date(std::string_view text, bool month_end = false);

/// ISO, as precise as written; never shows a time that was not given.
std::string format_date(const Date& date);
/// Just the day.
std::string format_day(std::int64_t day);

/// A duration that keeps calendar months apart from exact time: "1 mo" after 31 January is the last
/// of February, "1 mo" after 28 February is 28 March.
struct Duration {
  std::int32_t months = 0;
  double seconds = 0;
};
/// `date` moved by `duration`, calendar-aware.  Month-ends are clamped, never carried over.
Date add(const Date& date, const Duration& duration);
/// Against days a month counts 30.4375 (UCUM mo).
double as_seconds(const Duration& duration);
/// The whole months in a time value of base seconds that came from `mo` or `a` (UCUM) units.
Duration duration_from_seconds(double seconds);

/// Completed years of age on `on` of one born on `born` (29 February counts on 1 March).
int age_in_years(const Date& born, std::int64_t on_day);

}  // namespace meniscus::engine
