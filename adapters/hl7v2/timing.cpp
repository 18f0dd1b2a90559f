// How often, from when, until when.
//
// TQ1 counts before the old timing type (ORC-7, RXE-1, RXG-3).  Two timings that differ are a
// doubt, never one of them.  A pattern that no table has is kept as schedule.text only.
#include <algorithm>
#include <array>
#include <charconv>
#include <string>

#include "adapters/hl7v2/codes.hpp"
#include "adapters/hl7v2/order_fields.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::FieldId;
using engine::Value;

/// One timing as it stands: raw texts.
struct Timing {
  std::string_view pattern;
  std::string_view period;  // RPT-5 with RPT-6, or TQ1-5
  std::string_view period_unit;
  std::string_view start;
  std::string_view end;
  std::string_view priority;
  bool several = false;
};

Timing from_tq1(const Message& m, const Segment& s) {
  Timing t;
  const std::string_view patterns = m.field(s, 3);
  const std::string_view rpt = m.repetition(patterns, 0);
  t.several = m.repeats(patterns);
  t.pattern = m.subcomponent(m.component(rpt, 1), 1);
  t.period = m.component(rpt, 5);
  t.period_unit = m.component(rpt, 6);
  if (t.pattern.empty() && t.period.empty()) {
    const std::string_view relative = m.repetition(m.field(s, 5), 0);
    t.period = m.component(relative, 1);
    t.period_unit = m.subcomponent(m.component(relative, 2), 1);
  }
  t.start = m.first(m.field(s, 7), 1);
  t.end = m.first(m.field(s, 8), 1);
  t.priority = m.first(m.field(s, 9), 1);
  return t;
}

Timing from_tq(const Message& m, std::string_view field) {
  Timing t;
  const std::string_view tq = m.repetition(field, 0);
  t.pattern = m.subcomponent(m.component(tq, 2), 1);
  t.start = m.component(tq, 4);
  t.end = m.component(tq, 5);
  t.priority = m.component(tq, 6);
  if (m.repeats(field)) {
    const std::string_view other = m.repetition(field, 1);
    t.several = m.component(other, 2) != m.component(tq, 2);
  }
  return t;
}

/// ORC-7, RXE-1, RXG-3: the first that is more than a set id.
bool old_timing(const Lane& lane, const OrderPlan& plan, Timing& timing) {
  const Message& m = lane.message;
  const auto& segments = m.segments();
  struct Candidate {
    int segment;
    unsigned field;
  };
  const std::array<Candidate, 3> candidates = {{{plan.rxg, 3}, {plan.rxe, 1}, {plan.orc, 7}}};
  bool found = false;
  for (const Candidate& c : candidates) {
    if (c.segment < 0) continue;
    const std::string_view field = m.field(segments[static_cast<std::size_t>(c.segment)], c.field);
    if (m.find_in(field, m.delimiters().component) == std::string_view::npos) continue;
    const Timing t = from_tq(m, field);
    if (!found) timing = t;
    // What the nearer place leaves open, a farther one may say.
    if (timing.pattern.empty()) timing.pattern = t.pattern;
    if (timing.start.empty()) timing.start = t.start;
    if (timing.end.empty()) timing.end = t.end;
    if (timing.priority.empty()) timing.priority = t.priority;
    timing.several = timing.several || t.several;
    found = true;
  }
  return found;
}

/// TQ1 after the detail segment, else any of the order.
bool new_timing(const Lane& lane, const OrderPlan& plan, Timing& timing) {
  const Message& m = lane.message;
  const auto& segments = m.segments();
  bool found = false;
  bool found_own = false;
  const int detail = plan.detail();
  for (int i = plan.begin; i < plan.end; ++i) {
    const Segment& s = segments[static_cast<std::size_t>(i)];
    if (s.name != "TQ1") continue;
    const bool own = i > detail;
    const Timing t = from_tq1(m, s);
    if (!found || (own && !found_own)) {
      Timing merged = t;
      if (merged.pattern.empty() && merged.period.empty()) merged.pattern = timing.pattern;
      timing = merged;
    } else if (own == found_own && t.pattern != timing.pattern) {
      timing.several = true;
    }
    found = true;
    found_own = found_own || own;
  }
  return found;
}

/// Codes that are read as an interval, and that published lists forbid in text
/// (rules/notations.csv).
constexpr std::array<std::string_view, 6> kForbiddenInText = {"QD", "QOD", "QHS",
                                                              "HS", "QN",  "Q1D"};

void set_pattern(const Lane& lane, const Timing& t) {
  const Pattern pattern = repeat_pattern(lane.text(t.pattern));
  std::string every = pattern.every;
  std::string_view raw = t.pattern;
  if (looks_numeric(trim(t.period)) && !time_unit(t.period_unit).empty() && every.empty()) {
    every = std::string(trim(t.period)) + " " + std::string(time_unit(t.period_unit));
    raw = t.period;
  }
  // `QD` is right as a code: it is no text that somebody may misread.
  const bool is_text =
      std::ranges::find(kForbiddenInText, upper(trim(t.pattern))) == kForbiddenInText.end();
  if (pattern.says_nothing() || is_text) lane.set(FieldId::ScheduleText, t.pattern);
  if (t.several) {
    lane.doubt(FieldId::ScheduleEvery, "the order has several timings that differ", raw);
    return;
  }
  if (pattern.once) {
    lane.block.set(lane.lane, FieldId::ScheduleEvery, Value::none(), lane.text(raw),
                   lane.origin(raw));
    return;
  }
  if (!every.empty()) {
    lane.set_as(FieldId::ScheduleEvery, every, raw);
    if (pattern.times > 1) {
      std::array<char, 8> digits{};
      const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), pattern.times);
      const auto length = static_cast<std::size_t>(end.ptr - digits.data());
      lane.set_as(FieldId::ScheduleTimes, {digits.data(), length}, raw);
    }
  }
  if (pattern.as_needed) lane.set_as(FieldId::ScheduleAsNeeded, "yes", t.pattern);
}

/// A pattern in a field that is not for it: the priority of the old timing, RXE-7, RXE-8.  Only one
/// that a table has; it is marked as read from text.
void pattern_from_elsewhere(const Lane& lane, const OrderPlan& plan, const Timing& timing) {
  const Message& m = lane.message;
  std::array<std::string_view, 3> candidates = {timing.priority, {}, {}};
  if (plan.rxe >= 0) {
    const Segment& rxe = m.segments()[static_cast<std::size_t>(plan.rxe)];
    candidates[1] = m.first(m.field(rxe, 7), 1);
    candidates[2] = m.first(m.field(rxe, 8), 1);
  }
  for (const std::string_view raw : candidates) {
    const Pattern pattern = repeat_pattern(lane.text(raw));
    if (pattern.every.empty()) continue;
    lane.set_as(FieldId::ScheduleEvery, pattern.every, raw, true);
    if (pattern.times > 1)
      lane.set_as(FieldId::ScheduleTimes, std::to_string(pattern.times), raw, true);
    return;
  }
}

}  // namespace

void read_timing(const Lane& lane, const OrderPlan& plan) {
  Timing timing;
  Timing old;
  const bool has_new = new_timing(lane, plan, timing);
  const bool has_old = old_timing(lane, plan, old);
  if (!has_new) {
    timing = old;
  } else if (has_old) {
    if (timing.start.empty()) timing.start = old.start;
    if (timing.end.empty()) timing.end = old.end;
    if (timing.pattern.empty() && timing.period.empty()) timing.pattern = old.pattern;
  }
  if (timing.pattern.empty() && timing.period.empty()) pattern_from_elsewhere(lane, plan, timing);
  if (!timing.pattern.empty() || !timing.period.empty()) set_pattern(lane, timing);
  if (timing.priority == "PRN") lane.set_as(FieldId::ScheduleAsNeeded, "yes", timing.priority);
  lane.set_date(FieldId::ScheduleStart, timing.start);
  lane.set_date(FieldId::ScheduleEnd, timing.end);
}

}  // namespace meniscus::adapters::hl7v2
