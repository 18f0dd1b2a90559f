// Civil days, dates from text, calendar arithmetic, ages.
//
// Checked against: std::chrono's calendar types (C++20), an implementation outside the project, day
//                  by day over the whole range; ISO 8601 and HL7 v2 DTM examples (from memory).
#include "engine/quantity/calendar.hpp"

#include <gtest/gtest.h>

#include <chrono>
#include <cmath>
#include <ostream>

namespace meniscus::engine {
namespace {

using namespace std::string_literals;
namespace chr = std::chrono;

Date day_of(std::string_view text) {
  const Result<Date> date = parse_date(text);
  EXPECT_TRUE(date) << text;
  return date.value_or({});
}

TEST(Calendar, EveryDayAgreesWithChrono) {
  const chr::sys_days first = chr::year{1799} / chr::December / 1;
  const chr::sys_days last = chr::year{2201} / chr::January / 31;
  for (chr::sys_days d = first; d <= last; d += chr::days{1}) {
    const chr::year_month_day expected{d};
    const std::int64_t number = d.time_since_epoch().count();
    const CivilDay civil = civil_from_days(number);
    ASSERT_EQ(civil.year, int(expected.year()));
    ASSERT_EQ(civil.month, unsigned(expected.month()));
    ASSERT_EQ(civil.day, unsigned(expected.day()));
    ASSERT_EQ(days_from_civil(civil), number);
  }
}

TEST(Calendar, LastDaysOfMonthsAgreeWithChrono) {
  for (int year = 1800; year <= 2200; ++year)
    for (unsigned month = 1; month <= 12; ++month) {
      const chr::year_month_day_last last = chr::year{year} / chr::month{month} / chr::last;
      ASSERT_EQ(last_day_of_month(year, month), unsigned(last.day())) << year << "-" << month;
    }
}

TEST(Calendar, EveryDayComesBackFromItsText) {
  for (std::int64_t day = days_from_civil({1800, 1, 1}); day <= days_from_civil({2200, 12, 31});
       day += 13) {
    const Result<Date> read = parse_date(format_day(day));
    ASSERT_TRUE(read) << format_day(day);
    ASSERT_EQ(read->day(), day);
    ASSERT_EQ(read->seconds, day * 86400);
  }
}

struct Shown {
  std::string_view text;
  std::string_view shown;  // empty: refused
  Errc error = Errc::NotADate;
};

TEST(DateText, Iso) {
  const Shown cases[] = {
      {"2026-03-02", "2026-03-02"},
      {"2026-03", "2026-03"},
      {"2026", "2026"},
      {"2026-03-02T09:14", "2026-03-02T09:14"},
      {"2026-03-02T09:14:05", "2026-03-02T09:14:05"},
      {"2026-03-02 09:14", "2026-03-02T09:14"},
      {"2026-03-02T09:14:00+01:00", "2026-03-02T09:14:00+01:00"},
      {"2026-03-02T09:14:00-0330", "2026-03-02T09:14:00-03:30"},
      {"2026-03-02T09:14:00Z", "2026-03-02T09:14:00Z"},
      {"2026-03-02T09:14:00.123Z", "2026-03-02T09:14:00Z"},
      {"2026/03/02", "2026-03-02"},
      {"2024-02-29", "2024-02-29"},
      {"2000-02-29", "2000-02-29"},
      {"2026-02-30", ""},
      {"2026-02-29", ""},
      {"1900-02-29", ""},
      {"2026-13-01", ""},
      {"2026-00-01", ""},
      {"2026-01-00", ""},
      {"2026-04-31", ""},
      {"1799-12-31", ""},
      {"2201-01-01", ""},
      {"2026-3-2", ""},
      {"2026-03-02T24:00", ""},
      {"2026-03-02T09:60", ""},
      {"2026-03-02T09", ""},
      {"2026-03-02T09:14:", ""},
      {"2026-03-02T09:14:00.", ""},
      {"2026-03-02T09:14+15:00", ""},
      {"2026-03-02T09:14+01:0", ""},
      {"2026-03-02Z", ""},
      {"2026-03-02T09:14:00Zx", ""},
      {"2026-03-02x", ""},
      {"20260302", ""},
      {"2026-", ""},
      {"2026-03-", ""},
      {"", ""},
      {"today", ""},
      {"2026-0a-02", ""},
      {"03/04/2026", "", Errc::Ambiguous},
      {"25.12.2026", "", Errc::Ambiguous},
      {"03/2026", "", Errc::Ambiguous},
      {"02/03/26", "", Errc::Ambiguous},
  };
  for (const Shown& c : cases) {
    const Result<Date> date = parse_date(c.text);
    ASSERT_EQ(bool(date), !c.shown.empty()) << c.text;
    if (date)
      EXPECT_EQ(format_date(*date), c.shown);
    else
      EXPECT_EQ(date.error().code, c.error) << c.text << ": " << date.error().message;
  }
  EXPECT_FALSE(parse_date("2026-03-0\0"s));
  EXPECT_FALSE(parse_date("2026-03-02\0"s));
}

TEST(DateText, DeclaredOrders) {
  const auto shown = [](std::string_view text, DateOrder order) {
    const Result<Date> date = parse_date(text, order);
    return date ? format_date(*date) : std::string();
  };
  EXPECT_EQ(shown("02/03/2026", DateOrder::Dmy), "2026-03-02");
  EXPECT_EQ(shown("02/03/2026", DateOrder::Mdy), "2026-02-03");
  EXPECT_EQ(shown("2.3.2026", DateOrder::Dmy), "2026-03-02");
  EXPECT_EQ(shown("02-03-2026", DateOrder::Dmy), "2026-03-02");
  EXPECT_EQ(shown("2/3/2026 09:14", DateOrder::Dmy), "2026-03-02T09:14");
  EXPECT_EQ(shown("01/2027", DateOrder::Dmy), "2027-01");
  EXPECT_EQ(shown("01/2027", DateOrder::Mdy), "2027-01");
  EXPECT_EQ(shown("2026-03-02", DateOrder::Dmy), "2026-03-02");  // ISO is ISO in every feed
  EXPECT_EQ(shown("25/12/2026", DateOrder::Mdy), "");
  EXPECT_EQ(shown("02/03.2026", DateOrder::Dmy), "");
  EXPECT_EQ(parse_date("02/03/26", DateOrder::Dmy).error().code, Errc::Ambiguous);
}

TEST(DateText, MonthOnlyRunsToItsEnd) {
  EXPECT_EQ(parse_date("2027-02", DateOrder::Ymd, true)->day(), days_from_civil({2027, 2, 28}));
  EXPECT_EQ(parse_date("2028-02", DateOrder::Ymd, true)->day(), days_from_civil({2028, 2, 29}));
  EXPECT_EQ(parse_date("2027", DateOrder::Ymd, true)->day(), days_from_civil({2027, 12, 31}));
  EXPECT_EQ(parse_date("2027-02-03", DateOrder::Ymd, true)->day(), days_from_civil({2027, 2, 3}));
  EXPECT_EQ(parse_date("2027-02")->day(), days_from_civil({2027, 2, 1}));
  EXPECT_EQ(parse_hl7_date("202702", true)->day(), days_from_civil({2027, 2, 28}));
}

TEST(DateText, Hl7) {
  const Shown cases[] = {{"2026", "2026"},
                         {"202603", "2026-03"},
                         {"20260302", "2026-03-02"},
                         {"2026030209", "2026-03-02T09:00"},
                         {"202603020914", "2026-03-02T09:14"},
                         {"20260302091405", "2026-03-02T09:14:05"},
                         {"20260302091405.1234", "2026-03-02T09:14:05"},
                         {"20260302091405+0100", "2026-03-02T09:14:05+01:00"},
                         {"20260302091405.5-0500", "2026-03-02T09:14:05-05:00"},
                         {"20260302+0100", "2026-03-02"},
                         {"202", ""},
                         {"20263", ""},
                         {"2026030", ""},
                         {"202603020", ""},
                         {"20260230", ""},
                         {"20261301", ""},
                         {"20260302250000", ""},
                         {"20260302091405+01", ""},
                         {"20260302091405Z", ""},
                         {"20260302091405.", ""},
                         {"202603020914.5", ""},
                         {"2026030209140500", ""},
                         {"2026-03-02", ""},
                         {"\"\"", ""},
                         {"", ""}};
  for (const Shown& c : cases) {
    const Result<Date> date = parse_hl7_date(c.text);
    ASSERT_EQ(bool(date), !c.shown.empty()) << c.text;
    if (date) {
      EXPECT_EQ(format_date(*date), c.shown);
    } else {
      EXPECT_EQ(date.error().code, Errc::NotADate) << c.text;
    }
  }
}

TEST(DateText, ADayHasNoOffset) {
  EXPECT_EQ(*parse_hl7_date("20260302+0100"), *parse_date("2026-03-02"));
  EXPECT_FALSE(parse_hl7_date("20260302+1900"));
}

TEST(CalendarArithmetic, MonthEndsAreClampedAndDoNotDrift) {
  const Date start = day_of("2026-01-31");
  EXPECT_EQ(format_date(add(start, {1, 0})), "2026-02-28");
  EXPECT_EQ(format_date(add(start, {2, 0})), "2026-03-31");
  EXPECT_EQ(format_date(add(start, {3, 0})), "2026-04-30");
  EXPECT_EQ(format_date(add(day_of("2028-01-31"), {1, 0})), "2028-02-29");
  EXPECT_EQ(format_date(add(day_of("2026-02-28"), {1, 0})), "2026-03-28");
  EXPECT_EQ(format_date(add(day_of("2024-02-29"), {12, 0})), "2025-02-28");
  EXPECT_EQ(format_date(add(day_of("2026-01-31"), {-2, 0})), "2025-11-30");
  EXPECT_EQ(format_date(add(day_of("2026-12-31"), {2, 0})), "2027-02-28");
}

TEST(CalendarArithmetic, MonthsAgreeWithChrono) {
  for (std::int64_t day = days_from_civil({2023, 1, 1}); day < days_from_civil({2027, 1, 1}); ++day)
    for (const int months : {-25, -12, -1, 1, 2, 11, 13, 48}) {
      const chr::year_month_day from{chr::sys_days{chr::days{day}}};
      chr::year_month_day to = from + chr::months{months};
      if (!to.ok()) to = to.year() / to.month() / chr::last;
      const Date moved = add({day * 86400}, {months, 0});
      ASSERT_EQ(moved.day(), chr::sys_days{to}.time_since_epoch().count()) << day << " " << months;
    }
}

// Seven days from 23:30 to 22:30 across a clock change are seven days: the offset plays no part.
TEST(CalendarArithmetic, ClockChangesDoNotMatter) {
  const Date before = day_of("2026-03-25T23:30:00+01:00");  // European clocks change on 29 March
  const Date after = day_of("2026-04-01T22:30:00+02:00");
  EXPECT_EQ(after.day() - before.day(), 7);
  EXPECT_EQ(add(before, {0, 7 * 86400.0}).day(), after.day());
}

TEST(CalendarArithmetic, SecondsAndPrecision) {
  EXPECT_EQ(format_date(add(day_of("2026-03-02"), {0, 604800})), "2026-03-09");
  EXPECT_EQ(format_date(add(day_of("2026-03-02T23:00"), {0, 7200})), "2026-03-03T01:00");
  EXPECT_EQ(format_date(add(day_of("2026-03-02"), {0, 43200})), "2026-03-02");
  const Date month = *parse_date("2027-01", DateOrder::Ymd, true);
  EXPECT_EQ(format_date(add(month, {0, 86400})), "2027-02-01");
  EXPECT_EQ(format_date(add(month, {1, 0})), "2027-02");
}

TEST(CalendarArithmetic, NothingOverflows) {
  const Date start = day_of("2026-03-02");
  EXPECT_EQ(add(start, {0, 1e30}).seconds, start.seconds + 20000000000);
  EXPECT_EQ(add(start, {0, -1e30}).seconds, start.seconds - 20000000000);
  EXPECT_EQ(add(start, {0, std::nan("")}).seconds, start.seconds - 20000000000);
  EXPECT_EQ(format_date(add(start, {12000, 0})), "3026-03-02");
  EXPECT_EQ(unpack(1e300, 0).seconds, 20000000000);
}

TEST(Durations, MonthsStayApartFromDays) {
  EXPECT_EQ(duration_from_seconds(2629800).months, 1);
  EXPECT_EQ(duration_from_seconds(31557600).months, 12);
  EXPECT_EQ(duration_from_seconds(3 * 2629800.0).months, 3);
  for (const double days : {1.0, 7.0, 28.0, 30.0, 31.0, 90.0, 365.0}) {
    EXPECT_EQ(duration_from_seconds(days * 86400).months, 0) << days;
    EXPECT_EQ(duration_from_seconds(days * 86400).seconds, days * 86400);
  }
  EXPECT_EQ(duration_from_seconds(0).months, 0);
  EXPECT_EQ(as_seconds({2, 100}), 2 * 2629800.0 + 100);
  EXPECT_EQ(duration_from_seconds(1e300).months, 0);
}

TEST(Ages, CompletedYears) {
  const auto age = [](std::string_view born, std::string_view on) {
    return age_in_years(day_of(born), day_of(on).day());
  };
  EXPECT_EQ(age("1988-04-02", "2026-04-01"), 37);
  EXPECT_EQ(age("1988-04-02", "2026-04-02"), 38);
  EXPECT_EQ(age("2008-02-29", "2026-02-28"), 17);
  EXPECT_EQ(age("2008-02-29", "2026-03-01"), 18);
  EXPECT_EQ(age("2008-02-29", "2028-02-29"), 20);
  EXPECT_EQ(age("2026-03-02", "2026-03-02"), 0);
  EXPECT_EQ(age("2026-03-02", "2026-03-01"), -1);
}

TEST(PackedDates, ComeBackWhole) {
  for (const std::string_view text :
       {"2026", "2026-03", "2026-03-02", "2026-03-02T09:14", "2026-03-02T09:14:05-03:30",
        "2026-03-02T09:14:05+14:00", "1801-01-01", "1969-12-31T23:59:59Z"}) {
    const Date date = day_of(text);
    EXPECT_EQ(unpack(static_cast<double>(date.seconds), pack(date)), date) << text;
    EXPECT_EQ(format_date(date), text);
  }
}

}  // namespace
}  // namespace meniscus::engine
