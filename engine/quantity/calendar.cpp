// Civil days, packing, calendar arithmetic and ages (contract: calendar.hpp).
//
// Algorithm: days from and to the proleptic Gregorian calendar by eras of 400 years, whole numbers
//            only.  Checked day by day against std::chrono in tests/engine/quantity/calendar_test.
#include "engine/quantity/calendar.hpp"

#include <algorithm>
#include <cmath>

namespace meniscus::engine {
namespace {

constexpr std::int64_t kDaySeconds = 86400;
constexpr double kMonthSeconds = 2629800.0;  // UCUM mo: 30.4375 d
constexpr double kFarSeconds = 2e10;         // about 634 years: keeps every sum inside 64 bits

constexpr bool is_leap(int year) { return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0); }

std::int64_t bounded(double seconds) {
  if (!(seconds > -kFarSeconds)) return static_cast<std::int64_t>(-kFarSeconds);  // NaN too
  return static_cast<std::int64_t>(std::llround(std::min(seconds, kFarSeconds)));
}

CivilDay add_months(CivilDay day, std::int64_t months) {
  const std::int64_t count = static_cast<std::int64_t>(day.year) * 12 + (day.month - 1) + months;
  const std::int64_t year = count >= 0 ? count / 12 : -((11 - count) / 12);
  day.year = static_cast<int>(year);
  day.month = static_cast<unsigned>(count - year * 12) + 1;
  day.day = std::min(day.day, last_day_of_month(day.year, day.month));
  return day;
}

}  // namespace

CivilDay civil_from_days(std::int64_t days) {
  days += 719468;
  const std::int64_t era = (days >= 0 ? days : days - 146096) / 146097;
  const auto of_era = static_cast<unsigned>(days - era * 146097);
  const unsigned year = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
  const unsigned of_year = of_era - (365 * year + year / 4 - year / 100);
  const unsigned shifted = (5 * of_year + 2) / 153;  // months from March
  const unsigned month = shifted < 10 ? shifted + 3 : shifted - 9;
  const int civil_year = static_cast<int>(year + era * 400) + (month <= 2 ? 1 : 0);
  return {civil_year, month, of_year - (153 * shifted + 2) / 5 + 1};
}

std::int64_t days_from_civil(const CivilDay& day) {
  const std::int64_t year = static_cast<std::int64_t>(day.year) - (day.month <= 2 ? 1 : 0);
  const std::int64_t era = (year >= 0 ? year : year - 399) / 400;
  const auto of_era = static_cast<unsigned>(year - era * 400);
  const unsigned shifted = day.month > 2 ? day.month - 3 : day.month + 9;
  const unsigned of_year = (153 * shifted + 2) / 5 + day.day - 1;
  return era * 146097 + static_cast<std::int64_t>(of_era * 365 + of_era / 4 - of_era / 100) +
         of_year - 719468;
}

unsigned last_day_of_month(int year, unsigned month) {
  if (month == 2) return is_leap(year) ? 29 : 28;
  return month == 4 || month == 6 || month == 9 || month == 11 ? 30 : 31;
}

std::uint64_t pack(const Date& date) {
  return static_cast<std::uint64_t>(static_cast<std::uint16_t>(date.offset_minutes)) << 16 |
         static_cast<std::uint64_t>(date.has_offset ? 1 : 0) << 8 |
         static_cast<std::uint64_t>(date.precision);
}

Date unpack(double seconds, std::uint64_t packed) {
  Date date;
  date.seconds = bounded(seconds);
  date.precision = static_cast<Precision>(packed & 0xFFU);
  date.has_offset = (packed >> 8 & 1U) != 0;
  date.offset_minutes = static_cast<std::int16_t>(static_cast<std::uint16_t>(packed >> 16));
  return date;
}

Date add(const Date& date, const Duration& duration) {
  Date moved = date;
  if (duration.months != 0) {
    const std::int64_t day = date.day();
    const CivilDay civil = add_months(civil_from_days(day), duration.months);
    moved.seconds += (days_from_civil(civil) - day) * kDaySeconds;
  }
  if (duration.seconds != 0) {
    moved.seconds += bounded(duration.seconds);
    if (moved.precision < Precision::Day) moved.precision = Precision::Day;
  }
  return moved;
}

double as_seconds(const Duration& duration) {
  return duration.months * kMonthSeconds + duration.seconds;
}

Duration duration_from_seconds(double seconds) {
  const double months = std::round(seconds / kMonthSeconds);
  const bool whole = std::fabs(seconds - months * kMonthSeconds) <= 1e-9 * std::fabs(seconds);
  if (!whole || months == 0 || std::fabs(months) > 12000) return {0, seconds};
  return {static_cast<std::int32_t>(months), 0};
}

int age_in_years(const Date& born, std::int64_t on_day) {
  const CivilDay birth = civil_from_days(born.day());
  const CivilDay on = civil_from_days(on_day);
  const bool before = on.month < birth.month || (on.month == birth.month && on.day < birth.day);
  return on.year - birth.year - (before ? 1 : 0);
}

}  // namespace meniscus::engine
