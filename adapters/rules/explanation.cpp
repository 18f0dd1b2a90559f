// Contract: see explanation.hpp.
#include "adapters/rules/explanation.hpp"

#include <algorithm>
#include <utility>

#include "engine/eval/say.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters {

namespace {
using engine::RuleAnswer;
using engine::RuleEnd;

bool turns_round(const RuleAnswer& before, const RuleAnswer& after) {
  if (before.end == RuleEnd::Fired) return after.end == RuleEnd::Clear;
  return after.end == RuleEnd::Fired;
}
bool is_milder(const RuleAnswer& before, const RuleAnswer& after) {
  return before.end == RuleEnd::Fired && after.end == RuleEnd::Fired && after.grade < before.grade;
}
}  // namespace

Explainer::Explainer(const engine::Program& program, const engine::Days& days,
                     const engine::FieldSet& never)
    : program_(program),
      never_(never),
      why_(program),
      scalar_(program),
      trial_(program),
      reach_(program, days) {}

RuleAnswer Explainer::answer(const engine::OrderFacts& facts, std::uint32_t rule) {
  scalar_.begin(facts);
  return engine::answer_of(scalar_, rule, never_, scratch_, result_);
}

RuleExplanation Explainer::reasons_only(const engine::OrderFacts& facts, std::uint32_t rule) {
  RuleExplanation out;
  out.answer = answer(facts, rule);
  const auto decided = engine::reasons(scalar_, rule, out.answer);
  out.conditions = why_.conditions(scalar_, program_.rules[rule], decided);
  return out;
}

RuleExplanation Explainer::explain(const engine::OrderFacts& facts, std::uint32_t rule) {
  RuleExplanation out;
  out.answer = answer(facts, rule);
  const engine::Rule& r = program_.rules[rule];
  if (out.answer.end == RuleEnd::Fired) {
    engine::say(
        scalar_,
        out.answer.clause ? r.clauses[*out.answer.clause].say : r.withouts[*out.answer.without].say,
        {}, out.say);
  }
  const std::vector<engine::Decided> decided = engine::reasons(scalar_, rule, out.answer);
  out.conditions = why_.conditions(scalar_, r, decided);
  out.change = find_change(facts, rule, out.answer, decided);
  return out;
}

std::optional<TurningChange> Explainer::find_change(const engine::OrderFacts& facts,
                                                    std::uint32_t rule, const RuleAnswer& answer,
                                                    const std::vector<engine::Decided>& decided) {
  const engine::Rule& r = program_.rules[rule];
  std::vector<engine::Decided> conditions = decided;
  // What is no longer so grave may still be what a later clause is about.
  for (std::size_t i = answer.clause ? *answer.clause + 1 : r.clauses.size();
       answer.end == RuleEnd::Fired && i < r.clauses.size(); ++i) {
    const auto later = engine::deciding(scalar_, r.clauses[i].when);
    conditions.insert(conditions.end(), later.begin(), later.end());
  }
  std::vector<engine::Reached> all;
  for (const engine::Decided& each : conditions) {
    std::vector<engine::Reached> some = reach_.around(facts, each.node);
    std::move(some.begin(), some.end(), std::back_inserter(all));
  }
  const auto blamed = [&](const engine::Reached& reached) {
    return std::any_of(r.clauses.begin(), r.clauses.end(), [&](const engine::Clause& clause) {
      return std::find(clause.blames.begin(), clause.blames.end(), reached.field) !=
             clause.blames.end();
    });
  };
  std::stable_sort(all.begin(), all.end(), [&](const engine::Reached& a, const engine::Reached& b) {
    const int order = engine::compare(a.size, b.size);
    return order != 0 ? order < 0 : blamed(a) && !blamed(b);
  });
  std::optional<TurningChange> milder;
  for (const engine::Reached& reached : all) {
    trial_.begin(reach_.trial(facts, reached));
    const RuleAnswer then = engine::answer_of(trial_, rule, never_, scratch_, result_);
    const TurningChange change{reached.field, reached.before, reached.text, then};
    if (turns_round(answer, then)) return change;
    if (!milder && is_milder(answer, then)) milder = change;
  }
  return milder;
}

}  // namespace meniscus::adapters
