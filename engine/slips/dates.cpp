// Slips in dates: the year, the month, two digits, day and month.
#include <array>

#include "engine/quantity/calendar.hpp"
#include "engine/slips/ask.hpp"

namespace meniscus::engine::slips {
namespace {

constexpr std::int64_t kDay = 86400;

/// One date, and other days that may have been meant by it.
class DateSlips {
 public:
  DateSlips(const Ask& ask, FieldId field)
      : ask_(ask),
        field_(field),
        date_(unpack(ask.value(field).number, ask.value(field).aux)),
        day_(civil_from_days(date_.day())) {}

  void add() {
    const auto [year, month, day] = day_;
    for (const int by : {-1, 1}) {
      add_day(Kind::YearOff, {year + by, month, day}, 1);
      add_month(by);
      add_day(Kind::DecadeOff, {year + 10 * by, month, day}, 1);
      add_day(Kind::CenturyOff, {year + 100 * by, month, day}, 2);
    }
    const int ten_first = year - year % 100 + year % 10 * 10 + year / 10 % 10;
    add_day(Kind::DigitsExchanged, {ten_first, month, day}, 1);
    if (date_.precision < Precision::Day) return;
    add_day(Kind::DayAndMonth, {year, day, month}, 1);
    add_day(Kind::DigitsExchanged, {year, month, turned(day)}, 1);
    add_day(Kind::DigitsExchanged, {year, turned(month), day}, 1);
  }

 private:
  static unsigned turned(unsigned two) { return two % 10 * 10 + two / 10; }

  void add_month(int by) {
    const int month = static_cast<int>(day_.month) + by;
    if (month < 1 || month > 12) return;
    add_day(Kind::MonthOff, {day_.year, static_cast<unsigned>(month), day_.day}, 1);
  }

  void add_day(Kind kind, CivilDay day, double size) {
    constexpr int kFirstYear = 1800;
    constexpr int kLastYear = 2200;
    if (day.year < kFirstYear || day.year > kLastYear || day.month < 1 || day.month > 12) return;
    const bool month_end =
        info(field_).kind == FieldKind::MonthEnd && date_.precision < Precision::Day;
    const unsigned last = last_day_of_month(day.year, day.month);
    if (month_end) day.day = last;
    if (day.day < 1 || day.day > last) return;
    if (!is_thinkable(days_from_civil(day))) return;
    Date date = date_;
    date.seconds += (days_from_civil(day) - date_.day()) * kDay;
    ask_.add(kind, field_, Value::date(date), size);
  }

  /// Nobody is born after the order's own day, and nothing else lies more than five years from it
  /// (common practice: orders are renewed within a year or two, vials and supplies expire sooner).
  [[nodiscard]] bool is_thinkable(std::int64_t day) const {
    constexpr std::int64_t kFarthest = 5L * 366;
    const Value& now = ask_.scalar.facts().today;
    const std::int64_t today = unpack(now.number, now.aux).day();
    if (field_ == FieldId::PatientBorn) return day <= today;
    return day >= today - kFarthest && day <= today + kFarthest;
  }

  const Ask& ask_;
  FieldId field_;
  Date date_;
  CivilDay day_;
};

}  // namespace

void add_dates(const Ask& ask) {
  for (const FieldInfo& field : fields()) {
    const bool date = field.kind == FieldKind::Date || field.kind == FieldKind::MonthEnd;
    if (date && ask.wants(field.id)) DateSlips(ask, field.id).add();
  }
}

}  // namespace meniscus::engine::slips
