// Contract: see side_judge.hpp.
#include "adapters/replay/side_judge.hpp"

#include <algorithm>
#include <bit>

#include "adapters/replay/mixed.hpp"
#include "engine/eval/facts.hpp"
#include "engine/order/value.hpp"

namespace meniscus::adapters::replay {

namespace {
using engine::Finding;
using engine::Grade;
using engine::Lanes;
using engine::OrderBlock;
using engine::Verdict;

template <class T>
T& at_slot(std::vector<T>& all, std::size_t slot) {
  if (all.size() <= slot) all.resize(slot + 1);
  return all[slot];
}

void add_once(std::vector<std::uint16_t>& all, std::uint16_t one) {
  if (std::ranges::find(all, one) == all.end()) all.push_back(one);
}

std::size_t up_to_three(std::size_t count) { return std::min<std::size_t>(count, 3); }

Found found_of(const Finding& finding) {
  Found found;
  found.rule = finding.rule;
  found.grade = finding.grade;
  found.say = finding.say;
  found.ask = finding.ask;
  for (const engine::BlamedField& field : finding.fields)
    found.fields.emplace_back(engine::info(field.field).name, field.value);
  return found;
}

Said said_of(const Verdict& verdict) {
  Said said;
  said.outcome = verdict.outcome;
  for (const Finding& finding : verdict.findings)
    said.found.push_back(found_of(finding));
  return said;
}
}  // namespace

SideJudge::SideJudge(const Plan& plan, std::size_t side, double since)
    : plan_(plan),
      side_(plan.sides[side]),
      history_(side_.program->look_back, side_.program->history_fields,
               side_.program->history_written) {
  history_.set_since(since);
  for (std::size_t i = 0; i < side_.program->rules.size(); ++i)
    numbers_.emplace(side_.program->rules[i].name.data(), static_cast<std::uint16_t>(i));
}

engine::Checker& SideJudge::checker_of(const engine::FieldSet& never_carries) {
  for (const auto& feed : feeds_) {
    if (feed->never_carries == never_carries) return feed->checker;
  }
  engine::CheckOptions options;
  options.today = plan_.today;
  options.as_of = plan_.as_of;
  options.never_carries = never_carries;
  options.history = engine::HistoryScope::Store;
  options.slips = false;
  options.answers = &plan_.answers;
  feeds_.push_back(
      std::make_unique<OfFeed>(OfFeed{never_carries, engine::Checker(side_.program, options)}));
  feeds_.back()->checker.count_concerned();
  return feeds_.back()->checker;
}

void SideJudge::remember(const OrderBlock& block, const engine::FieldSet& never_carries) {
  checker_of(never_carries).remember(block, history_);
}

void SideJudge::judge(const OrderBlock& block, const LaneNotes& notes,
                      const engine::FieldSet& never_carries, SideTally& tally) {
  engine::Checker& checker = checker_of(never_carries);
  block_ = &block;
  tally.rules.resize(side_.shared_rule.size());
  if (plan_.sample > 0) {
    fired_lanes_.assign(side_.shared_rule.size(), 0);
    other_lanes_.assign(side_.shared_rule.size(), 0);
  }
  checker.check(block, history_, [&](const Verdict& verdict) {
    const LaneNote& note = notes.at(verdict.lane);
    if (note.changes) count_changed(note, tally);
    if (plan_.sides.size() > 1) keep_for_comparison(verdict);
    if (note.judged && verdict.outcome <= engine::Outcome::Hold) count(verdict, note, tally);
  });
  count_concerned(checker, notes, block.size(), tally);
  if (plan_.sample > 0) draw(checker, notes, tally);
}

void SideJudge::count(const Verdict& verdict, const LaneNote& note, SideTally& tally) {
  const auto outcome = static_cast<std::size_t>(verdict.outcome);
  const bool stopped = plan_.is_stopped(verdict.outcome);
  ++tally.outcomes.at(outcome);
  tally.stopped += stopped ? 1U : 0U;
  ++tally.findings_per_order.at(up_to_three(verdict.findings.size()));
  std::uint16_t groups = 0;
  for (const Finding& finding : verdict.findings)
    groups = std::max(groups, finding.group);
  ++tally.groups_per_order.at(up_to_three(groups));
  if (note.slot != kNoSlot) {
    OutcomeMonth& month = at_slot(tally.months, note.slot);
    ++month.judged;
    month.stopped += stopped ? 1U : 0U;
    ++month.outcomes.at(outcome);
  }
  if (!verdict.findings.empty()) count_findings(verdict, note, tally);
  if (!verdict.not_assessed.empty()) count_open(verdict, note, tally);
  count_hidden(verdict, note, tally);
}

void SideJudge::count_findings(const Verdict& verdict, const LaneNote& note, SideTally& tally) {
  fired_.clear();
  for (const Finding& finding : verdict.findings) {
    const std::uint16_t number = rule_number(finding.rule);
    RuleTally& rule = tally.rules[number];
    if (finding.clause > 0) ++at_slot(rule.clauses, finding.clause - 1U);
    if (finding.without > 0) ++at_slot(rule.withouts, finding.without - 1U);
    add_once(fired_, number);
  }
  std::ranges::sort(fired_);
  for (std::size_t i = 0; i < fired_.size(); ++i) {
    RuleTally& rule = tally.rules[fired_[i]];
    ++rule.fired;
    mark(fired_lanes_, fired_[i], verdict.lane);
    if (note.slot != kNoSlot) ++at_slot(rule.months, note.slot).fired;
    if (rule.examples.wants(note.key)) add_example(rule.examples, verdict, note);
    for (std::size_t k = i + 1; k < fired_.size(); ++k)
      ++tally.pairs[{fired_[i], fired_[k]}];
  }
  if (note.order != 0) followed_.put(note.order, note.day, rule_set(fired_));
}

void SideJudge::count_open(const Verdict& verdict, const LaneNote& note, SideTally& tally) {
  open_.clear();
  for (const engine::NotAssessed& entry : verdict.not_assessed) {
    for (const std::string_view name : entry.rules) {
      const std::uint16_t number = rule_number(name);
      ++tally.rules[number].missing[entry.missing];
      add_once(open_, number);
    }
  }
  for (const std::uint16_t number : open_) {
    RuleTally& rule = tally.rules[number];
    ++rule.not_assessed;
    mark(other_lanes_, number, verdict.lane);
    if (note.slot != kNoSlot) ++at_slot(rule.months, note.slot).not_assessed;
  }
}

void SideJudge::count_hidden(const Verdict& verdict, const LaneNote& note, SideTally& tally) {
  for (const engine::Hidden& hidden : verdict.muted) {
    const std::uint16_t number = rule_number(hidden.rule);
    RuleTally& rule = tally.rules[number];
    mark(other_lanes_, number, verdict.lane);
    ++rule.muted;
    if (note.slot != kNoSlot) ++at_slot(rule.months, note.slot).muted;
  }
  for (const engine::Hidden& hidden : verdict.trial) {
    const std::uint16_t number = rule_number(hidden.rule);
    ++tally.rules[number].trial_found;
    mark(other_lanes_, number, verdict.lane);
  }
  for (const engine::Answered& answered : verdict.answered) {
    const std::uint16_t number = rule_number(answered.rule);
    ++tally.rules[number].answered;
    mark(other_lanes_, number, verdict.lane);
  }
}

void SideJudge::mark(std::vector<Lanes>& lanes, std::uint16_t rule, unsigned lane) const {
  if (plan_.sample > 0) lanes[rule] |= Lanes{1} << lane;
}

/// Draws orders for readers: by rule, some that it fired on and some that it was silent about.
void SideJudge::draw(const engine::Checker& checker, const LaneNotes& notes,
                     SideTally& tally) const {
  const std::span<const Lanes> concerned = checker.concerned();
  for (std::size_t i = 0; i < concerned.size(); ++i) {
    const std::uint64_t key = engine::word_hash(side_.program->rules[i].name);
    const Lanes silent = concerned[i] & ~fired_lanes_[i] & ~other_lanes_[i];
    draw_from(fired_lanes_[i], key, notes, tally.rules[i].drawn_fired);
    draw_from(silent, key, notes, tally.rules[i].drawn_silent);
  }
}

void SideJudge::draw_from(Lanes lanes, std::uint64_t rule_key, const LaneNotes& notes,
                          Examples& into) const {
  for (; lanes != 0; lanes &= lanes - 1) {
    const auto lane = static_cast<unsigned>(std::countr_zero(lanes));
    const LaneNote& note = notes.at(lane);
    // Every rule has a draw of its own.
    const std::uint64_t key = mixed(note.key, rule_key);
    if (!into.wants(key)) continue;
    Example drawn = example(*block_, lane, note);
    drawn.key = key;
    for (const engine::FieldInfo& field : engine::fields()) {
      const std::string_view written = block_->written(lane, field.id);
      if (!written.empty()) drawn.fields.emplace_back(field.name, written);
    }
    into.add(std::move(drawn));
  }
}

void SideJudge::count_concerned(const engine::Checker& checker, const LaneNotes& notes,
                                unsigned lanes, SideTally& tally) const {
  const std::span<const Lanes> concerned = checker.concerned();
  for (std::size_t i = 0; i < concerned.size(); ++i)
    tally.rules[i].concerned += static_cast<Count>(std::popcount(concerned[i]));
  for (unsigned lane = 0; lane < lanes;) {
    const std::size_t slot = notes.at(lane).slot;
    Lanes same = 0;
    for (; lane < lanes && notes.at(lane).slot == slot; ++lane)
      same |= Lanes{1} << lane;
    if (slot == kNoSlot) continue;
    for (std::size_t i = 0; i < concerned.size(); ++i) {
      if ((concerned[i] & same) != 0)
        at_slot(tally.rules[i].months, slot).concerned +=
            static_cast<Count>(std::popcount(concerned[i] & same));
    }
  }
}

void SideJudge::count_changed(const LaneNote& note, SideTally& tally) {
  if (note.order == 0) return;
  const std::uint32_t* set = followed_.find(note.order, note.day);
  if (set == nullptr) return;
  for (const std::uint16_t rule : *by_set_[*set])
    ++tally.rules[rule].changed_after;
  followed_.erase(note.order);
}

std::uint32_t SideJudge::rule_set(const std::vector<std::uint16_t>& rules) {
  const auto number = static_cast<std::uint32_t>(by_set_.size());
  const auto [at, added] = rule_sets_.emplace(rules, number);
  if (added) by_set_.push_back(&at->first);
  return at->second;
}

void SideJudge::finish(SideTally& tally) const {
  for (const auto& feed : feeds_) {
    for (const engine::NotAssessed& entry : feed->checker.never_assessed()) {
      for (const std::string_view rule : entry.rules)
        tally.never_assessed[entry.missing].insert(rule_number(rule));
    }
  }
}

void SideJudge::keep_for_comparison(const Verdict& verdict) {
  LaneFound& found = found_.at(verdict.lane);
  found.outcome = verdict.outcome;
  found.hits.clear();
  for (const Finding& finding : verdict.findings)
    found.hits.push_back({side_.shared_rule[rule_number(finding.rule)], finding.clause,
                          finding.without, finding.grade});
  std::ranges::sort(found.hits);
  found.said = said_of(verdict);
}

std::uint16_t SideJudge::rule_number(std::string_view name) const {
  const auto found = numbers_.find(name.data());
  if (found != numbers_.end()) return found->second;
  const std::size_t built_in = name == built_in_rule(0) ? 0 : 1;
  return static_cast<std::uint16_t>(side_.program->rules.size() + built_in);
}

Example SideJudge::example(const OrderBlock& block, unsigned lane, const LaneNote& note) const {
  Example example;
  example.key = note.key;
  const engine::Value id = block.value(lane, engine::FieldId::OrderId);
  example.order = id.known() ? id.text : block.value(lane, engine::FieldId::OrderFiller).text;
  example.patient = block.value(lane, engine::FieldId::PatientId).text;
  const engine::Value today = engine::facts_of(block, lane, {plan_.as_of, plan_.today}).today;
  example.day = engine::unpack(today.number, today.aux).day();
  example.file = plan_.files[note.file];
  example.line = note.line;
  return example;
}

void SideJudge::add_example(Examples& examples, const Verdict& verdict,
                            const LaneNote& note) const {
  Example drawn = example(*block_, verdict.lane, note);
  drawn.said.push_back(said_of(verdict));
  examples.add(std::move(drawn));
}

}  // namespace meniscus::adapters::replay
