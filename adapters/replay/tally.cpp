// Contract: see tally.hpp.
#include "adapters/replay/tally.hpp"

#include <algorithm>
#include <iterator>
#include <tuple>
#include <utility>

#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters::replay {

namespace {
/// By key; equal keys, which only equal orders have, by where they stand.
bool before(const Example& a, const Example& b) {
  return std::tie(a.key, a.order, a.day, a.file, a.line) <
         std::tie(b.key, b.order, b.day, b.file, b.line);
}

template <class Counts>
void add_each(Counts& into, const Counts& from) {
  for (std::size_t i = 0; i < from.size(); ++i)
    into[i] += from[i];
}

void add(std::vector<Count>& into, const std::vector<Count>& from) {
  into.resize(std::max(into.size(), from.size()));
  add_each(into, from);
}

void add(RuleMonth& into, const RuleMonth& from) {
  into.concerned += from.concerned;
  into.fired += from.fired;
  into.not_assessed += from.not_assessed;
  into.muted += from.muted;
}

void add(OutcomeMonth& into, const OutcomeMonth& from) {
  into.judged += from.judged;
  into.stopped += from.stopped;
  add_each(into.outcomes, from.outcomes);
}

void add(std::array<Count, kShifts>& into, const std::array<Count, kShifts>& from) {
  add_each(into, from);
}

/// Months of another tally, whose slots are `slots` here.
template <class T>
void add_months(std::vector<T>& into, const std::vector<T>& from,
                const std::vector<std::size_t>& slots) {
  for (std::size_t i = 0; i < from.size(); ++i) {
    if (into.size() <= slots[i]) into.resize(slots[i] + 1);
    add(into[slots[i]], from[i]);
  }
}

void add(RuleTally& into, const RuleTally& from, const std::vector<std::size_t>& slots) {
  into.concerned += from.concerned;
  into.fired += from.fired;
  into.not_assessed += from.not_assessed;
  into.muted += from.muted;
  into.trial_found += from.trial_found;
  into.answered += from.answered;
  into.changed_after += from.changed_after;
  add(into.clauses, from.clauses);
  add(into.withouts, from.withouts);
  for (const auto& [what, count] : from.missing)
    into.missing[what] += count;
  add_months(into.months, from.months, slots);
  into.examples.merge(from.examples);
  into.drawn_fired.merge(from.drawn_fired);
  into.drawn_silent.merge(from.drawn_silent);
}

void add(SideTally& into, const SideTally& from, const std::vector<std::size_t>& slots) {
  add_each(into.outcomes, from.outcomes);
  into.stopped += from.stopped;
  add_each(into.findings_per_order, from.findings_per_order);
  add_each(into.groups_per_order, from.groups_per_order);
  add_months(into.months, from.months, slots);
  for (const auto& [rules, count] : from.pairs)
    into.pairs[rules] += count;
  into.rules.resize(std::max(into.rules.size(), from.rules.size()));
  for (std::size_t i = 0; i < from.rules.size(); ++i)
    add(into.rules[i], from.rules[i], slots);
  for (const auto& [what, rules] : from.never_assessed)
    into.never_assessed[what].insert(rules.begin(), rules.end());
}

void add(RuleShift& into, const RuleShift& from) {
  into.same += from.same;
  into.newly += from.newly;
  into.gone += from.gone;
  into.graver += from.graver;
  into.milder += from.milder;
  into.examples.merge(from.examples);
}

void add(ComparisonTally& into, const ComparisonTally& from,
         const std::vector<std::size_t>& slots) {
  add_each(into.shifts, from.shifts);
  into.outside_of_one += from.outside_of_one;
  add_months(into.months, from.months, slots);
  for (std::size_t i = 0; i < kOutcomes; ++i)
    add_each(into.outcomes.at(i), from.outcomes.at(i));
  for (std::size_t i = 0; i < kShifts; ++i)
    into.examples.at(i).merge(from.examples.at(i));
  into.rules.resize(std::max(into.rules.size(), from.rules.size()));
  for (std::size_t i = 0; i < from.rules.size(); ++i)
    add(into.rules[i], from.rules[i]);
}

void add(InputTally& into, const InputTally& from) {
  into.judged += from.judged;
  into.recorded += from.recorded;
  into.outside += from.outside;
  into.unreadable += from.unreadable;
  into.repeated += from.repeated;
  into.merges += from.merges;
  into.warm_up += from.warm_up;
  into.undated += from.undated;
  into.patients += from.patients;
  if (from.from) into.from = std::min(into.from.value_or(*from.from), *from.from);
  if (from.to) into.to = std::max(into.to.value_or(*from.to), *from.to);
  for (const Unread& record : from.unread)
    into.add_unread(record);
}
}  // namespace

Month month_of(std::int64_t day) {
  const engine::CivilDay civil = engine::civil_from_days(day);
  return civil.year * 12 + static_cast<Month>(civil.month) - 1;
}

std::string month_text(Month month) {
  const engine::CivilDay first{month / 12, static_cast<unsigned>(month % 12) + 1, 1};
  return engine::format_day(engine::days_from_civil(first)).substr(0, 7);
}

std::optional<Month> month_named(std::string_view text) {
  const auto date = engine::parse_date(std::string(text) + "-01");
  if (text.size() != 7 || !date) return std::nullopt;
  return month_of(date->day());
}

std::string_view name(Shift shift) {
  switch (shift) {
    case Shift::Same:
      return "same";
    case Shift::NewlyStopped:
      return "newly_stopped";
    case Shift::NoLongerStopped:
      return "no_longer_stopped";
    case Shift::Graver:
      return "graver";
    case Shift::Milder:
      return "milder";
    case Shift::OtherReason:
      return "other_reason";
  }
  return "";
}

void Examples::add(Example example) {
  if (most_ == 0) return;
  const auto at = std::lower_bound(orders_.begin(), orders_.end(), example, before);
  if (orders_.size() == most_) {
    if (at == orders_.end()) return;
    orders_.insert(at, std::move(example));
    orders_.pop_back();
    return;
  }
  orders_.insert(at, std::move(example));
}

void Examples::merge(const Examples& other) {
  most_ = std::max(most_, other.most_);
  for (const Example& example : other.orders_)
    add(example);
}

void InputTally::add_unread(Unread record) {
  unread.insert(std::move(record));
  if (unread.size() > kUnreadKept) unread.erase(std::prev(unread.end()));
}

std::size_t Tally::slot(Month month) {
  const auto found = std::find(months.begin(), months.end(), month);
  if (found != months.end()) return static_cast<std::size_t>(found - months.begin());
  months.push_back(month);
  return months.size() - 1;
}

void Tally::merge(const Tally& other) {
  std::vector<std::size_t> slots;
  for (const Month month : other.months)
    slots.push_back(slot(month));
  add(input, other.input);
  sides.resize(std::max(sides.size(), other.sides.size()));
  for (std::size_t i = 0; i < other.sides.size(); ++i)
    add(sides[i], other.sides[i], slots);
  if (!other.comparison) return;
  if (!comparison) comparison.emplace();
  add(*comparison, *other.comparison, slots);
}

}  // namespace meniscus::adapters::replay
