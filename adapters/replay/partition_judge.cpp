// Contract: see partition_judge.hpp.
#include "adapters/replay/partition_judge.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "adapters/replay/mixed.hpp"
#include "engine/history/history.hpp"

namespace meniscus::adapters::replay {

namespace {
using engine::RecordKind;

constexpr double kDay = 86400.0;
constexpr double kLate = 31 * kDay;

std::int64_t day_of(double received) {
  return std::isnan(received) ? 0 : static_cast<std::int64_t>(std::floor(received / kDay));
}

Shift shift_of(const Plan& plan, const LaneFound& before, const LaneFound& after) {
  const bool was = plan.is_stopped(before.outcome);
  const bool is = plan.is_stopped(after.outcome);
  if (was != is) return is ? Shift::NewlyStopped : Shift::NoLongerStopped;
  if (before.outcome != after.outcome)
    return after.outcome > before.outcome ? Shift::Graver : Shift::Milder;
  return before.hits == after.hits ? Shift::Same : Shift::OtherReason;
}
}  // namespace

PartitionJudge::PartitionJudge(const Plan& plan, double since) : plan_(plan) {
  for (std::size_t i = 0; i < plan.sides.size(); ++i)
    sides_.push_back(std::make_unique<SideJudge>(plan, i, since));
  tally_.sides.resize(plan.sides.size());
  for (std::size_t i = 0; i < plan.sides.size(); ++i) {
    tally_.sides[i].rules.resize(plan.sides[i].shared_rule.size());
    for (RuleTally& rule : tally_.sides[i].rules) {
      rule.examples = Examples(plan.examples);
      if (i + 1 < plan.sides.size()) continue;  // readers judge the rules that are to come
      rule.drawn_fired = rule.drawn_silent = Examples(plan.sample);
    }
  }
  if (plan.sides.size() < 2) return;
  tally_.comparison.emplace().rules.resize(plan.all_rules.size());
  for (RuleShift& rule : tally_.comparison->rules)
    rule.examples = Examples(plan.examples);
  tally_.comparison->examples.fill(Examples(plan.examples));
  tally_.comparison->examples.front() = Examples(0);  // of Same
}

void PartitionJudge::take(std::string_view images) {
  const ImageHead head = head_of(images);
  if (!note_record(head)) return;
  if (blocks_[0].size() > 0 &&
      (blocks_[0].full() || head.never_carries != never_carries_ || head.warm_up != warm_up_))
    settle();
  never_carries_ = head.never_carries;
  warm_up_ = head.warm_up;
  const unsigned lane = blocks_[0].size();
  open_image(images.substr(0, head.size), blocks_[0]);
  if (plan_.words_differ) {
    images.remove_prefix(head.size);
    open_image(images.substr(0, head_of(images).size), blocks_[1]);
  }
  LaneNote& note = notes_.at(lane);
  note = LaneNote{};
  note.file = head.file;
  note.line = head.line;
  note.day = day_of(head.received);
  // Of the patient: who tells orders apart by number alone may find another's.
  if (head.order != engine::kNoWord) note.order = mixed(head.order, head.patient) | 1U;
  note.key = mixed(head.content, plan_.seed);
  if (!std::isnan(head.received)) note.slot = tally_.slot(month_of(note.day));
  if (head.kind == RecordKind::Order || head.kind == RecordKind::Outside) {
    const engine::Action action = engine::action_of(blocks_[0], lane);
    note.judged = action == engine::Action::New || action == engine::Action::Change;
    note.changes = action == engine::Action::Change || action == engine::Action::Stop ||
                   action == engine::Action::Cancel;
    if (head.warm_up) note.judged = note.changes = false;
  }
  count_record(head, lane);
}

/// Counts what the record is before it is opened; false: it comes again.
bool PartitionJudge::note_record(const ImageHead& head) {
  note_order_of_receipt(head);
  if (std::isnan(head.received) && head.kind == RecordKind::Order) ++tally_.input.undated;
  if (head.kind != RecordKind::Order || head.order == engine::kNoWord) return true;
  const std::uint64_t key = mixed(head.content, head.order) | 1U;
  const std::int64_t day = day_of(head.received);
  if (seen_.find(key, day) == nullptr) {
    seen_.put(key, day, true);
    return true;
  }
  ++(head.warm_up ? tally_.input.warm_up : tally_.input.repeated);
  return false;
}

void PartitionJudge::note_order_of_receipt(const ImageHead& head) {
  if (std::isnan(head.received)) {
    if (head.patient != engine::kNoWord) last_received_.find_or_add(head.patient);
    return;
  }
  if (head.received < newest_ - kLate) out_of_order_ = true;
  newest_ = std::max(newest_, head.received);
  if (head.patient == engine::kNoWord) return;
  double& last = last_received_.find_or_add(head.patient);
  if (last != 0 && head.received < last) out_of_order_ = true;
  last = head.received;
}

void PartitionJudge::count_record(const ImageHead& head, unsigned lane) {
  const LaneNote& note = notes_.at(lane);
  InputTally& input = tally_.input;
  if (head.warm_up) {
    ++input.warm_up;
    return;
  }
  switch (head.kind) {
    case RecordKind::Unreadable:
      ++input.unreadable;
      input.add_unread({head.file, head.line, blocks_[0].record(lane).reason});
      return;
    case RecordKind::Outside:
      ++input.outside;
      return;
    case RecordKind::Merge:
      ++input.merges;
      return;
    case RecordKind::Order:
      break;
  }
  ++(note.judged ? input.judged : input.recorded);
  if (!note.judged || note.slot == kNoSlot) return;
  input.from = std::min(input.from.value_or(note.day), note.day);
  input.to = std::max(input.to.value_or(note.day), note.day);
}

void PartitionJudge::settle() {
  if (blocks_[0].size() == 0) return;
  for (std::size_t i = 0; i < sides_.size(); ++i) {
    const engine::OrderBlock& block = blocks_.at(plan_.words_differ ? i : 0);
    if (warm_up_)
      sides_[i]->remember(block, never_carries_);
    else
      sides_[i]->judge(block, notes_, never_carries_, tally_.sides[i]);
  }
  for (unsigned lane = 0; tally_.comparison && lane < blocks_[0].size(); ++lane) {
    if (notes_.at(lane).judged) compare(notes_.at(lane), lane);
  }
  blocks_[0].clear();
  blocks_[1].clear();
}

void PartitionJudge::compare(const LaneNote& note, unsigned lane) {
  const LaneFound& before = sides_[0]->found().at(lane);
  const LaneFound& after = sides_[1]->found().at(lane);
  ComparisonTally& counts = *tally_.comparison;
  if (!before.judged() || !after.judged()) {
    counts.outside_of_one += before.judged() != after.judged() ? 1U : 0U;
    return;
  }
  const auto number = static_cast<std::size_t>(shift_of(plan_, before, after));
  ++counts.shifts.at(number);
  ++counts.outcomes.at(static_cast<std::size_t>(before.outcome))
        .at(static_cast<std::size_t>(after.outcome));
  if (note.slot != kNoSlot) {
    if (counts.months.size() <= note.slot) counts.months.resize(note.slot + 1);
    ++counts.months[note.slot].at(number);
  }
  if (counts.examples.at(number).wants(note.key))
    add_example(counts.examples.at(number), note, lane);
  if (!before.hits.empty() || !after.hits.empty()) compare_rules(note, lane);
}

namespace {
/// The gravest that hits of a rule say, which stand together; moves `at` behind them.
std::optional<engine::Grade> worst_of(const std::vector<LaneFound::Hit>& hits, std::size_t& at,
                                      std::uint32_t rule) {
  std::optional<engine::Grade> worst;
  for (; at < hits.size() && hits[at].rule == rule; ++at)
    worst = std::max(worst.value_or(hits[at].grade), hits[at].grade);
  return worst;
}

Count& count_of(RuleShift& counts, std::optional<engine::Grade> was,
                std::optional<engine::Grade> is) {
  if (was == is) return counts.same;
  if (!was) return counts.newly;
  if (!is) return counts.gone;
  return *is > *was ? counts.graver : counts.milder;
}
}  // namespace

/// Rule by rule, by the gravest that each found.
void PartitionJudge::compare_rules(const LaneNote& note, unsigned lane) {
  const std::vector<LaneFound::Hit>& before = sides_[0]->found().at(lane).hits;
  const std::vector<LaneFound::Hit>& after = sides_[1]->found().at(lane).hits;
  for (std::size_t b = 0, a = 0; b < before.size() || a < after.size();) {
    std::uint32_t rule = b < before.size() ? before[b].rule : after[a].rule;
    if (a < after.size()) rule = std::min(rule, after[a].rule);
    const auto was = worst_of(before, b, rule);
    const auto is = worst_of(after, a, rule);
    RuleShift& counts = tally_.comparison->rules[rule];
    ++count_of(counts, was, is);
    if (was != is && counts.examples.wants(note.key)) add_example(counts.examples, note, lane);
  }
}

void PartitionJudge::add_example(Examples& examples, const LaneNote& note, unsigned lane) const {
  Example example = sides_[0]->example(blocks_[0], lane, note);
  for (const auto& side : sides_)
    example.said.push_back(side->found().at(lane).said);
  examples.add(std::move(example));
}

Tally PartitionJudge::finish() {
  tally_.input.patients = last_received_.size();
  for (std::size_t i = 0; i < sides_.size(); ++i)
    sides_[i]->finish(tally_.sides[i]);
  return std::move(tally_);
}

}  // namespace meniscus::adapters::replay
