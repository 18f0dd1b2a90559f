// Dates from text and to text (contract: calendar.hpp).
//
// Shape:   one pass over the text, no allocation but for an error's message.
// Source:  ISO 8601 calendar dates; HL7 v2.5.1 chapter 2A, data type DTM (from memory).
#include <algorithm>
#include <cstdio>

#include "engine/quantity/calendar.hpp"

#include "engine/base/ascii.hpp"

namespace meniscus::engine {
namespace {

using ascii::is_digit;

constexpr int kFirstYear = 1800;
constexpr int kLastYear = 2200;
constexpr int kLargestOffset = 14 * 60;

std::string quoted(std::string_view text) { return "`" + std::string(text.substr(0, 40)) + "`"; }
Error not_a_date(std::string_view text, std::string_view why) {
  return {Errc::NotADate, quoted(text) + " is not a date: " + std::string(why), 0,
          static_cast<std::uint32_t>(text.size())};
}
Error ambiguous(std::string_view text, std::string_view why) {
  return {Errc::Ambiguous, quoted(text) + " can be read in two ways: " + std::string(why), 0,
          static_cast<std::uint32_t>(text.size())};
}

/// The parts of a date as read; -1 where the text has none.
struct Parts {
  int year = -1;
  int month = -1;
  int day = -1;
  int hour = -1;
  int minute = -1;
  int second = -1;
  bool has_offset = false;
  int offset = 0;  // minutes east
};

class Cursor {
 public:
  explicit Cursor(std::string_view text) : text_(text) {}

  [[nodiscard]] bool at_end() const { return at_ == text_.size(); }
  [[nodiscard]] char peek() const { return at_end() ? '\0' : text_[at_]; }
  bool take(char c) {
    if (at_end() || text_[at_] != c) return false;
    ++at_;
    return true;
  }
  /// Exactly `count` digits, else -1 and nothing is taken.
  int digits(std::size_t count) {
    if (text_.size() - at_ < count) return -1;
    int value = 0;
    for (std::size_t i = 0; i < count; ++i) {
      if (!is_digit(text_[at_ + i])) return -1;
      value = value * 10 + (text_[at_ + i] - '0');
    }
    at_ += count;
    return value;
  }
  [[nodiscard]] std::size_t run_of_digits() const {
    std::size_t n = 0;
    while (at_ + n < text_.size() && is_digit(text_[at_ + n]))
      ++n;
    return n;
  }
  void skip_digits() { at_ += run_of_digits(); }

 private:
  std::string_view text_;
  std::size_t at_ = 0;
};

/// The time of day and the offset on top of a day.
Result<Date> with_clock(std::string_view text, const Parts& p, Date date) {
  if (p.hour >= 0) {
    if (p.hour > 23 || p.minute > 59 || p.second > 59)
      return not_a_date(text, "there is no such time of day");
    date.seconds += p.hour * 3600 + p.minute * 60 + (p.second > 0 ? p.second : 0);
    date.precision = p.second >= 0 ? Precision::Second : Precision::Minute;
  }
  if (p.has_offset) {
    if (p.offset > kLargestOffset || p.offset < -kLargestOffset)
      return not_a_date(text, "there is no such offset from UTC");
    if (p.hour < 0) return date;  // a day has no offset; HL7 allows one to stand there
    date.has_offset = true;
    date.offset_minutes = static_cast<std::int16_t>(p.offset);
  }
  return date;
}

Result<Date> make(std::string_view text, const Parts& p, bool month_end) {
  if (p.year < kFirstYear || p.year > kLastYear)
    return not_a_date(text, "the year is not between 1800 and 2200");
  if (p.month == 0 || p.month > 12) return not_a_date(text, "there is no such month");
  const unsigned first = month_end ? 12 : 1;
  CivilDay civil{p.year, p.month > 0 ? static_cast<unsigned>(p.month) : first, 1};
  const unsigned last = last_day_of_month(civil.year, civil.month);
  Date date;
  date.precision = p.month < 0 ? Precision::Year : Precision::Month;
  if (p.day >= 0) {
    if (p.day == 0 || static_cast<unsigned>(p.day) > last)
      return not_a_date(text, "the month has no such day");
    civil.day = static_cast<unsigned>(p.day);
    date.precision = Precision::Day;
  } else if (month_end) {
    civil.day = last;
  }
  date.seconds = days_from_civil(civil) * 86400;
  return with_clock(text, p, date);
}

/// `+01:00`, `+0100` or, where `zulu` is allowed, `Z`; nothing is fine.  False: malformed.
bool read_offset(Cursor& in, Parts& p, bool zulu) {
  if (in.at_end()) return true;
  p.has_offset = true;
  if (zulu && in.take('Z')) return true;
  const bool west = in.peek() == '-';
  if (!in.take('+') && !in.take('-')) return false;
  const int hours = in.digits(2);
  if (zulu) in.take(':');
  const int minutes = in.digits(2);
  if (hours < 0 || minutes < 0 || minutes > 59) return false;
  p.offset = (hours * 60 + minutes) * (west ? -1 : 1);
  return true;
}

/// `T09:14`, ` 09:14:00.5+01:00` or nothing, up to the end.
bool read_clock(Cursor& in, Parts& p) {
  if (in.at_end()) return true;
  if (!in.take('T') && !in.take(' ')) return false;
  p.hour = in.digits(2);
  if (p.hour < 0 || !in.take(':')) return false;
  p.minute = in.digits(2);
  if (p.minute < 0) return false;
  if (in.take(':')) {
    p.second = in.digits(2);
    if (p.second < 0) return false;
    if (in.take('.')) {
      if (!is_digit(in.peek())) return false;
      in.skip_digits();  // fractions of a second are not kept
    }
  }
  return read_offset(in, p, true) && in.at_end();
}

/// The part of a date that starts with its year, after the year.
Result<Date> after_year(std::string_view text, Cursor in, Parts p, bool month_end) {
  const char mark = in.peek();
  if (!in.at_end()) {
    in.take(mark);
    p.month = in.digits(2);
    if ((mark != '-' && mark != '/' && mark != '.') || p.month < 0)
      return not_a_date(text, "write it as 2026-03-02");
    if (in.take(mark)) {
      p.day = in.digits(2);
      if (p.day < 0 || !read_clock(in, p)) return not_a_date(text, "write it as 2026-03-02");
    } else if (!in.at_end()) {
      return not_a_date(text, "write it as 2026-03-02");
    }
  }
  return make(text, p, month_end);
}

/// One or two digits, else -1.
int short_number(Cursor& in) {
  const std::size_t run = in.run_of_digits();
  return run == 1 || run == 2 ? in.digits(run) : -1;
}

/// `02/03/2026`, `2.3.2026 09:14`, `01/2027`: the year stands last.
Result<Date> year_last(std::string_view text, DateOrder order, bool month_end) {
  Cursor in(text);
  const int first = short_number(in);
  const char mark = in.peek();
  if (first < 0 || (mark != '/' && mark != '.' && mark != '-'))
    return not_a_date(text, "write it as 2026-03-02");
  in.take(mark);
  Parts p;
  int second = -1;
  if (in.run_of_digits() <= 2) {
    second = short_number(in);
    if (second < 0 || !in.take(mark)) return not_a_date(text, "write it as 2026-03-02");
  }
  if (in.run_of_digits() == 2) return ambiguous(text, "its year has two digits");
  p.year = in.digits(4);
  if (p.year < 0 || !read_clock(in, p)) return not_a_date(text, "write it as 2026-03-02");
  if (order == DateOrder::Ymd)
    return ambiguous(text, "the feed does not declare that the year stands last");
  p.month = second < 0 ? first : order == DateOrder::Dmy ? second : first;
  p.day = second < 0 ? -1 : order == DateOrder::Dmy ? first : second;
  return make(text, p, month_end);
}

/// The shape nearly every date has, `2026-03-02`, without a loop.
bool plain_iso(std::string_view t, Parts& p) {
  if (t.size() != 10 || t[4] != '-' || t[7] != '-') return false;
  unsigned bad = 0;
  const auto digit = [&](std::size_t at) {
    const unsigned value = static_cast<unsigned char>(t[at]) - unsigned{'0'};
    bad |= value > 9 ? 1U : 0U;
    return static_cast<int>(value);
  };
  p.year = digit(0) * 1000 + digit(1) * 100 + digit(2) * 10 + digit(3);
  p.month = digit(5) * 10 + digit(6);
  p.day = digit(8) * 10 + digit(9);
  return bad == 0;
}

}  // namespace

Result<Date> parse_date(std::string_view text, DateOrder order, bool month_end) {
  Parts p;
  if (plain_iso(text, p)) return make(text, p, month_end);
  p = {};
  Cursor in(text);
  p.year = in.digits(4);
  if (p.year >= 0 && !is_digit(in.peek())) return after_year(text, in, p, month_end);
  return year_last(text, order, month_end);
}

Result<Date> parse_hl7_date(std::string_view text, bool month_end) {
  Cursor in(text);
  const std::size_t run = in.run_of_digits();
  if (run < 4 || run > 14 || run % 2 != 0)
    return not_a_date(text, "an HL7 date is YYYY[MM[DD[HHMM[SS]]]]");
  Parts p;
  p.year = in.digits(4);
  if (run >= 6) p.month = in.digits(2);
  if (run >= 8) p.day = in.digits(2);
  if (run >= 10) {
    p.hour = in.digits(2);
    p.minute = run >= 12 ? in.digits(2) : 0;
    if (run >= 14) p.second = in.digits(2);
  }
  if (run == 14 && in.take('.')) {
    if (!is_digit(in.peek())) return not_a_date(text, "digits are needed after the point");
    in.skip_digits();
  }
  if (!read_offset(in, p, false) || !in.at_end())
    return not_a_date(text, "an HL7 date is YYYY[MM[DD[HHMM[SS]]]]");
  return make(text, p, month_end);
}

std::string format_day(std::int64_t day) {
  const CivilDay civil = civil_from_days(day);
  std::string text = "0000-00-00";
  const auto put = [&text](std::size_t end, unsigned number) {
    for (; number != 0; number /= 10)
      text[--end] = static_cast<char>('0' + number % 10);
  };
  put(4, static_cast<unsigned>(std::clamp(civil.year, 0, 9999)));
  put(7, civil.month);
  put(10, civil.day);
  return text;
}

std::string format_date(const Date& date) {
  std::string text = format_day(date.day());
  const std::size_t month = text.rfind('-');
  if (date.precision == Precision::Year) return text.substr(0, text.rfind('-', month - 1));
  if (date.precision == Precision::Month) return text.substr(0, month);
  if (date.precision == Precision::Day) return text;
  const auto of_day = static_cast<int>(date.seconds - date.day() * 86400);
  char buffer[32];
  std::snprintf(buffer, sizeof buffer, "T%02d:%02d", of_day / 3600, of_day / 60 % 60);
  text += buffer;
  if (date.precision == Precision::Second) {
    std::snprintf(buffer, sizeof buffer, ":%02d", of_day % 60);
    text += buffer;
  }
  if (!date.has_offset) return text;
  if (date.offset_minutes == 0) return text + "Z";
  const int minutes = date.offset_minutes < 0 ? -date.offset_minutes : date.offset_minutes;
  std::snprintf(buffer, sizeof buffer, "%c%02d:%02d", date.offset_minutes < 0 ? '-' : '+',
                minutes / 60, minutes % 60);
  return text + buffer;
}

}  // namespace meniscus::engine
