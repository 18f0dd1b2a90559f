// Amounts per time (contract: per_time_text.hpp).
#include "engine/order/per_time_text.hpp"

#include <algorithm>
#include <array>

#include "engine/quantity/calendar.hpp"

namespace meniscus::engine {
namespace {

constexpr double kDay = 86400;

template <std::size_t N>
bool is_any(const Tokens& t, std::size_t at, const std::array<std::string_view, N>& words) {
  return std::any_of(words.begin(), words.end(),
                     [&](std::string_view word) { return t.is(at, word); });
}

/// What stands between a token and the next one.
std::string_view gap(const Tokens& t, std::string_view text, std::size_t at) {
  const std::size_t end = t[at].offset + t[at].text.size();
  return at + 1 < t.size ? text.substr(end, t[at + 1].offset - end) : text.substr(end);
}

/// No sentence ends behind a token.
bool goes_on(const Tokens& t, std::string_view text, std::size_t at) {
  const std::string_view between = gap(t, text, at);
  return between.find(';') == std::string_view::npos &&
         between.find(". ") == std::string_view::npos;
}

/// "week", "7 days", "two weeks": the tokens, 0 where there is none of a day or longer.
PerTime period(const Tokens& t, std::size_t at) {
  if (at >= t.size) return {};
  if (const double seconds = period_at(t, at); seconds > 0) return {seconds, 0, 1};
  const std::uint32_t count = small_number(t[at]);
  const double seconds = count > 0 ? period_at(t, at + 1) : 0;
  return seconds > 0 ? PerTime{count * seconds, 0, 2} : PerTime{};
}

/// "/week", "per week", "a week": not "a week later".
PerTime after_lead(const Tokens& t, std::string_view text, std::size_t unit) {
  const std::size_t next = unit + 1;
  const bool slash = gap(t, text, unit).find('/') != std::string_view::npos;
  const bool per = t.is(next, "per");
  const bool article = t.is(next, "a");
  if (!slash && !per && !article) return {};
  PerTime found = period(t, slash ? next : next + 1);
  if (found.tokens == 0) return {};
  if (!slash) ++found.tokens;
  constexpr std::array<std::string_view, 7> kPoints = {"later", "after", "before", "prior",
                                                       "apart", "ago",   "earlier"};
  if (article && is_any(t, next + found.tokens, kPoints)) return {};
  return found;
}

/// "in two doses", "divided into 2 equal doses", "in divided doses" from `at` on.
struct Shared {
  std::uint32_t doses = 0;
  std::size_t tokens = 0;
};
Shared shared_at(const Tokens& t, std::string_view text, std::size_t at) {
  constexpr std::array<std::string_view, 3> kSplit = {"divided", "split", "given"};
  constexpr std::array<std::string_view, 4> kInto = {"in", "into", "as", "over"};
  constexpr std::array<std::string_view, 3> kAlike = {"equal", "divided", "split"};
  constexpr std::array<std::string_view, 2> kDoses = {"doses", "portions"};
  std::size_t next = at;
  if (is_any(t, next, kSplit)) ++next;
  if (!is_any(t, next, kInto)) return {};
  ++next;
  const std::uint32_t count = next < t.size ? small_number(t[next]) : 0;
  if (count > 0) ++next;
  const bool alike = is_any(t, next, kAlike);
  if (alike) ++next;
  if (!is_any(t, next, kDoses) || (count < 2 && !(count == 0 && alike))) return {};
  for (std::size_t i = at; i < next; ++i)
    if (!goes_on(t, text, i)) return {};
  return {count, next + 1 - at};
}

/// "weekly total", "weekly in two doses", "every week, divided into 2 doses".
PerTime adverb_with_total(const Tokens& t, std::string_view text, std::size_t at) {
  const auto every = interval_at(t, at);
  if (!every || every->ambiguous || every->times != 1 || every->seconds < kDay) return {};
  const std::size_t last = at + every->tokens - 1;
  if (!goes_on(t, text, last)) return {};
  if (const Shared shared = shared_at(t, text, last + 1); shared.tokens > 0)
    return {every->seconds, shared.doses, every->tokens + shared.tokens};
  if (!t.is(last + 1, "total") || gap(t, text, last).find(',') != std::string_view::npos) return {};
  // "weekly total 4 doses" counts doses.
  const std::size_t of = t.is(last + 2, "of") ? last + 2 : last + 1;
  const bool counts = of + 1 < t.size && small_number(t[of + 1]) > 0 && gap(t, text, of) == " ";
  if (counts) return {};
  return {every->seconds, 0, every->tokens + 1};
}

/// "weekly", "per week", "a week" in front of an amount; the tokens, 0 where there is none.
PerTime before_amount(const Tokens& t, std::size_t at) {
  if (at >= t.size || t[at].number) return {};
  if (t.is(at, "per") || t.is(at, "a")) {
    PerTime found = period(t, at + 1);
    if (found.tokens > 0) ++found.tokens;
    return found;
  }
  const auto every = interval_at(t, at);
  if (!every || every->ambiguous || every->times != 1 || every->seconds < kDay) return {};
  return {every->seconds, 0, every->tokens};
}

}  // namespace

PerTime per_time_after(const Tokens& t, std::string_view text, std::size_t unit) {
  if (unit >= t.size || !goes_on(t, text, unit)) return {};
  PerTime found = after_lead(t, text, unit);
  if (found.tokens == 0) return adverb_with_total(t, text, unit + 1);
  if (found.seconds < kDay) return {};
  const std::size_t last = unit + found.tokens;
  if (!goes_on(t, text, last)) return found;
  if (const Shared shared = shared_at(t, text, last + 1); shared.tokens > 0) {
    found.doses = shared.doses;
    found.tokens += shared.tokens;
  }
  return found;
}

TotalBefore total_at(const Tokens& t, std::string_view text, std::size_t at) {
  constexpr std::array<std::string_view, 3> kWhat = {"dose", "amount", "volume"};
  constexpr std::array<std::string_view, 2> kIs = {"of", "is"};
  const PerTime first = before_amount(t, at);
  std::size_t next = at + first.tokens;
  if (!t.is(next, "total")) return {};
  ++next;
  TotalBefore found{first.seconds, 0};
  for (bool any = true; any && next < t.size;) {
    const PerTime time = found.seconds > 0 ? PerTime{} : before_amount(t, next);
    any = time.tokens > 0 || is_any(t, next, kWhat) || is_any(t, next, kIs);
    if (time.tokens > 0) found.seconds = time.seconds;
    if (any) next += std::max<std::size_t>(time.tokens, 1);
  }
  if (next >= t.size || !t[next].number) return {};
  for (std::size_t i = at; i < next; ++i)
    if (!goes_on(t, text, i) || gap(t, text, i).find(',') != std::string_view::npos) return {};
  found.number = next;
  return found;
}

bool is_by_calendar(double seconds) { return duration_from_seconds(seconds).months > 0; }

}  // namespace meniscus::engine
