// Intervals in words (contract: interval_text.hpp).
#include "engine/order/interval_text.hpp"

#include <string>
#include <utility>

#include "engine/base/ascii.hpp"

namespace meniscus::engine {
namespace {

using ascii::is_digit;
using ascii::lower;

constexpr double kHour = 3600;
constexpr double kDay = 86400;
constexpr double kWeek = 7 * kDay;
constexpr double kMonth = 2629800;  // UCUM mo: 30.4375 d
constexpr double kYear = 12 * kMonth;

bool is_letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || static_cast<unsigned char>(c) >= 0x80;
}

bool equals(std::string_view text, std::string_view lower_case) {
  if (text.size() != lower_case.size()) return false;
  for (std::size_t i = 0; i < text.size(); ++i)
    if (lower(text[i]) != lower_case[i]) return false;
  return true;
}

struct Named {
  std::string_view name;
  double seconds;
};
constexpr Named kPeriods[] = {
    {"day", kDay},     {"days", kDay},      {"d", kDay},          {"week", kWeek},
    {"weeks", kWeek},  {"wk", kWeek},       {"wks", kWeek},       {"w", kWeek},
    {"month", kMonth}, {"months", kMonth},  {"mo", kMonth},       {"mos", kMonth},
    {"mth", kMonth},   {"hour", kHour},     {"hours", kHour},     {"h", kHour},
    {"hr", kHour},     {"hrs", kHour},      {"year", kYear},      {"years", kYear},
    {"yr", kYear},     {"night", kDay},     {"morning", kDay},    {"evening", kDay},
    {"monday", kWeek}, {"tuesday", kWeek},  {"wednesday", kWeek}, {"thursday", kWeek},
    {"friday", kWeek}, {"saturday", kWeek}, {"sunday", kWeek}};

constexpr Named kAdverbs[] = {{"daily", kDay},   {"weekly", kWeek},   {"monthly", kMonth},
                              {"yearly", kYear}, {"hourly", kHour},   {"fortnightly", 2 * kWeek},
                              {"nightly", kDay}, {"annually", kYear}, {"qd", kDay},
                              {"qod", 2 * kDay}, {"qw", kWeek},       {"qwk", kWeek},
                              {"qhs", kDay},     {"qam", kDay},       {"qpm", kDay},
                              {"qmo", kMonth},   {"eod", 2 * kDay},   {"qday", kDay},
                              {"qweek", kWeek},  {"qmonth", kMonth},  {"quarterly", 3 * kMonth}};

template <std::size_t N>
double find(const Named (&table)[N], std::string_view text) {
  for (const Named& row : table)
    if (equals(text, row.name)) return row.seconds;
  return 0;
}

constexpr std::string_view kNumbers[] = {"one",   "two",   "three", "four", "five",   "six",
                                         "seven", "eight", "nine",  "ten",  "eleven", "twelve"};

}  // namespace

double period_at(const Tokens& t, std::size_t at) {
  return at < t.size && !t[at].number ? find(kPeriods, t[at].text) : 0;
}

namespace {

/// "weekly", "a week", "per week", "/ week", "each day", "every 3 days" after a count of times.
std::optional<Interval> each_period(const Tokens& t, std::size_t at) {
  if (at >= t.size) return std::nullopt;
  if (!t[at].number) {
    if (const double adverb = find(kAdverbs, t[at].text); adverb > 0)
      return Interval{adverb, 1, false, 1};
  }
  const bool lead = t.is(at, "a") || t.is(at, "per") || t.is(at, "each") || t.is(at, "in");
  if (lead && (t.is(at + 1, "a") || t.is(at + 1, "each")) && period_at(t, at + 2) > 0)
    return Interval{period_at(t, at + 2), 1, false, 3};
  if (lead && period_at(t, at + 1) > 0) return Interval{period_at(t, at + 1), 1, false, 2};
  if (t[at].before == '/' && period_at(t, at) > 0) return Interval{period_at(t, at), 1, false, 1};
  return std::nullopt;
}

bool is_weekday(const Tokens& t, std::size_t at) {
  return at < t.size && t[at].text.size() >= 6 && period_at(t, at) == kWeek &&
         equals(t[at].text.substr(t[at].text.size() - 3), "day");
}

/// "Monday and Thursday", "Monday, Wednesday and Friday": as many doses a week.
Interval weekdays(const Tokens& t, std::size_t at) {
  Interval interval{kWeek, 1, false, 1};
  while (true) {
    const std::size_t next = at + interval.tokens + (t.is(at + interval.tokens, "and") ? 1 : 0);
    const bool either = t.is(at + interval.tokens, "or") && is_weekday(t, next + 1);
    if (either) return {0, 1, true, interval.tokens + 2};
    if (!is_weekday(t, next)) return interval;
    interval.tokens = next + 1 - at;
    ++interval.times;
  }
}

/// Which one of them: "other" and "second" are 2, "third" and "3rd" 3; the tokens are 0 where none.
std::pair<std::uint32_t, std::size_t> ordinal_at(const Tokens& t, std::size_t at) {
  if (t.is(at, "other") || t.is(at, "second")) return {2, 1};
  if (t.is(at, "third")) return {3, 1};
  if (t.is(at, "fourth")) return {4, 1};
  for (const std::string_view ending : {"st", "nd", "rd", "th"})
    if (at < t.size && t[at].number && t.is(at + 1, ending)) return {small_number(t[at]), 2};
  return {0, 0};
}

/// After "every", "each" or "q": "week", "2 weeks", "other day", "5th day", "two weeks", "Monday".
std::optional<Interval> after_every(const Tokens& t, std::size_t at) {
  if (const auto [which, used] = ordinal_at(t, at); used > 0) {
    const double period = period_at(t, at + used);
    if (period > 0 && which > 0) return Interval{which * period, 1, false, used + 1};
    return std::nullopt;
  }
  if (is_weekday(t, at)) return weekdays(t, at);
  if (const double period = period_at(t, at); period > 0) return Interval{period, 1, false, 1};
  if (at >= t.size) return std::nullopt;
  const std::uint32_t count = small_number(t[at]);
  if (count == 0) return std::nullopt;
  if (const double period = period_at(t, at + 1); period > 0)
    return Interval{count * period, 1, false, 2};
  // "every 2-3 weeks", "every 2 to 3 weeks": two things.
  const std::size_t second = t.is(at + 1, "to") || t.is(at + 1, "or") ? at + 2 : at + 1;
  if (second < t.size && small_number(t[second]) != 0 && period_at(t, second + 1) > 0)
    return Interval{0, 1, true, second + 2 - at};
  return std::nullopt;
}

std::optional<Interval> with_lead(std::optional<Interval> interval, std::size_t lead,
                                  std::uint32_t times = 1) {
  if (!interval) return std::nullopt;
  interval->tokens += lead;
  interval->times *= times;
  return interval;
}

/// "once", "twice", "three times", "2x": how many times, and how many tokens say so.
std::pair<std::uint32_t, std::size_t> times_at(const Tokens& t, std::size_t at) {
  if (t.is(at, "once")) return {1, 1};
  if (t.is(at, "twice")) return {2, 1};
  if (t.is(at, "thrice")) return {3, 1};
  if (at + 1 < t.size && (t.is(at + 1, "times") || t.is(at + 1, "x") || t.is(at + 1, "time")))
    return {small_number(t[at]), 2};
  return {0, 0};
}

std::optional<Interval> single_word(const Token& token) {
  for (const std::string_view two_ways : {"biweekly", "bimonthly", "biannually"})
    if (equals(token.text, two_ways)) return Interval{0, 1, true, 1};
  if (equals(token.text, "bid")) return Interval{kDay, 2, false, 1};
  if (equals(token.text, "tid")) return Interval{kDay, 3, false, 1};
  if (equals(token.text, "qid")) return Interval{kDay, 4, false, 1};
  const double adverb = find(kAdverbs, token.text);
  if (adverb > 0) return Interval{adverb, 1, false, 1};
  return std::nullopt;
}

/// "b.i.d.", "q.o.d.": letters with a point between them.
std::optional<Interval> dotted_word(const Tokens& t, std::size_t at) {
  if (at + 2 >= t.size) return std::nullopt;
  std::string letters;
  for (std::size_t i = at; i < at + 3; ++i) {
    if (t[i].text.size() != 1 || t[i].number || (i > at && t[i].before != '.')) return std::nullopt;
    letters += t[i].text;
  }
  return with_lead(single_word({letters, 0, false, ' '}), 2);
}

/// "2 x week": a period by itself after a count with an x.
std::optional<Interval> bare_period(const Tokens& t, std::size_t at) {
  for (const std::string_view one : {"day", "week", "wk", "month"})
    if (t.is(at, one)) return Interval{period_at(t, at), 1, false, 1};
  return std::nullopt;
}

/// No interval starts with any other letter.
bool may_start(const Token& token) {
  if (token.number) return true;
  switch (lower(token.text.front())) {
    case 'a':  // alternate, annually
    case 'b':  // biweekly, bid
    case 'd':  // daily
    case 'e':  // every, each, eod
    case 'f':  // fortnightly, four times
    case 'h':
    case 'm':
    case 'n':
    case 'o':  // once
    case 'q':
    case 's':  // six times
    case 't':  // twice, three times, tid
    case 'w':
    case 'y':
      return true;
    default:
      return false;
  }
}

/// Bytes of the number at the start of `text`: a point or comma counts where a digit follows it.
/// A fraction that is one character (U+00BC to U+00BE, the eighths) is a number by itself.
std::size_t length_of_number(std::string_view text) {
  for (const std::string_view fraction :
       {"\u00BC", "\u00BD", "\u00BE", "\u215B", "\u215C", "\u215D", "\u215E"})
    if (text.substr(0, fraction.size()) == fraction) return fraction.size();
  std::size_t n = 0;
  while (n < text.size()) {
    const bool mark = text[n] == '.' || text[n] == ',';
    if (mark ? n + 1 == text.size() || !is_digit(text[n + 1]) : !is_digit(text[n])) break;
    ++n;
  }
  return n;
}

std::size_t length_of_word(std::string_view text) {
  std::size_t n = 0;
  while (n < text.size() && is_letter(text[n]))
    ++n;
  return n;
}

}  // namespace

Tokens::Tokens(std::string_view text) {
  std::size_t at = 0;
  while (at < text.size()) {
    const bool number = is_digit(text[at]) || text[at] == '\xC2' || text[at] == '\xE2';
    const std::string_view rest = text.substr(at);
    const std::size_t length = number ? length_of_number(rest) : length_of_word(rest);
    if (length == 0) {
      ++at;
      continue;
    }
    if (size == kMost) {
      unread = rest.substr(0, length);
      return;
    }
    const Token token{rest.substr(0, length), static_cast<std::uint32_t>(at), number,
                      at == 0 ? ' ' : text[at - 1]};
    if (size < kInline)
      first_[size] = token;
    else
      more_.push_back(token);
    ++size;
    at += length;
  }
}

bool Tokens::is(std::size_t at, std::string_view lower_case) const {
  return at < size && equals((*this)[at].text, lower_case);
}

std::uint32_t small_number(const Token& token) {
  if (token.number) {
    std::uint32_t value = 0;
    for (const char c : token.text) {
      if (!is_digit(c) || value > 999) return 0;
      value = value * 10 + static_cast<std::uint32_t>(c - '0');
    }
    return value;
  }
  for (std::uint32_t i = 0; i < std::size(kNumbers); ++i)
    if (equals(token.text, kNumbers[i])) return i + 1;
  return 0;
}

namespace {

/// "daily", "b.i.d.", "every week", "alternate days": what starts with a word other than a count.
std::optional<Interval> in_words(const Tokens& t, std::size_t at) {
  if (auto word = single_word(t[at])) return word;
  if (auto word = dotted_word(t, at)) return word;
  if (t.is(at, "every") || t.is(at, "each") || t.is(at, "q"))
    return with_lead(after_every(t, at + 1), 1);
  if (t.is(at, "on") && t.is(at + 1, "alternate") && t.is(at + 2, "days"))
    return Interval{2 * kDay, 1, false, 3};
  if (t.is(at, "alternate") && t.is(at + 1, "days")) return Interval{2 * kDay, 1, false, 2};
  if (t.is(at, "at") && t.is(at + 1, "bedtime")) return Interval{kDay, 1, false, 2};
  return std::nullopt;
}

}  // namespace

std::optional<Interval> interval_at(const Tokens& t, std::size_t at) {
  if (at >= t.size || !may_start(t[at])) return std::nullopt;
  if (!t[at].number) {
    const bool every = t.is(at, "every") || t.is(at, "each") || t.is(at, "q");
    if (auto words = in_words(t, at); words || every) return words;
  }
  const auto [times, used] = times_at(t, at);
  if (times == 0) return std::nullopt;
  if (auto each = with_lead(each_period(t, at + used), used, times)) return each;
  if (t.is(at + 1, "x"))
    if (auto bare = with_lead(bare_period(t, at + used), used, times)) return bare;
  if (t.is(at + used, "every")) return with_lead(after_every(t, at + used + 1), used + 1, times);
  return std::nullopt;
}

std::optional<Interval> parse_interval_words(std::string_view text) {
  const Tokens tokens(text);
  const auto interval = interval_at(tokens, 0);
  if (!interval || interval->tokens != tokens.size || !tokens.whole()) return std::nullopt;
  return interval;
}

}  // namespace meniscus::engine
