// A small summary of a replay, made by hand: two sets of rules, four rules, two months.
//
//   volume-limit  in both; fires on 100 of 1000 orders in January, on 300 of 1000 in February
//   quiet         in both; never fires
//   gone-rule     before only; fired on three orders without a date
//   new-rule      after only; fires on five
//   doubtful-value, internal: the program's own
#pragma once

#include <string>

#include "adapters/replay/summary.hpp"

namespace meniscus::testing {

namespace replay = adapters::replay;

inline replay::Example sample_example(std::uint64_t key, std::string order, std::string patient) {
  replay::Example example;
  example.key = key;
  example.order = std::move(order);
  example.day = 20520;  // 2026-03-08
  example.file = "orders of march.ndjson";
  example.line = key;
  replay::Found found{"volume-limit", engine::Grade::Hold, "For " + patient + ": 4 mL.", "", {}};
  found.fields.emplace_back("patient.id", patient);
  example.patient = std::move(patient);
  example.said = {{engine::Outcome::Clear, {}}, {engine::Outcome::Hold, {found}}};
  return example;
}

inline replay::SideInfo sample_side(std::string name, const std::string& own_rule) {
  replay::SideInfo side;
  side.name = std::move(name);
  side.hash = "sha256:" + side.name;
  side.rules_day = 20454;  // 2026-01-01
  for (const std::string& rule : {std::string("volume-limit"), std::string("quiet"), own_rule}) {
    replay::RuleInfo& info = side.rules.emplace_back();
    info.name = rule;
    info.title = "Title of " + rule;
    info.cite = "common practice";
    info.clauses = {engine::Grade::Hold};
  }
  for (std::size_t i = 0; i < replay::kBuiltInRules; ++i) {
    replay::RuleInfo& info = side.rules.emplace_back();
    info.name = replay::built_in_rule(i);
    info.built_in = true;
  }
  return side;
}

inline replay::SideTally sample_counts(replay::Count own) {
  replay::SideTally side;
  side.outcomes = {1600, 0, 0, 0, 0, 400};
  side.stopped = 400;
  side.months = {{1000, 300, {700, 0, 0, 0, 0, 300}}, {1000, 100, {900, 0, 0, 0, 0, 100}}};
  side.rules.resize(5);
  side.rules[0].concerned = 2000;
  side.rules[0].fired = 400;
  side.rules[0].clauses = {400};
  side.rules[0].months = {{1000, 300, 2, 1}, {1000, 100, 0, 0}};
  side.rules[1].concerned = 50;
  side.rules[2].concerned = own;
  side.rules[2].fired = own;
  side.rules[3].fired = 1;
  side.rules[3].months = {{0, 1, 0, 0}};
  side.pairs[{0, 2}] = own;
  side.never_assessed["patient.weight"] = {1};
  return side;
}

inline replay::Summary sample_summary() {
  replay::Summary summary;
  summary.head.made_by = "meniscus";
  summary.head.files = {"orders of march.ndjson"};
  summary.head.sides = {sample_side("before", "gone-rule"), sample_side("after", "new-rule")};
  summary.head.all_rules = {"volume-limit",   "quiet",    "gone-rule",
                            "doubtful-value", "internal", "new-rule"};
  replay::Tally& tally = summary.tally;
  tally.months = {24313, 24312};  // 2026-02, 2026-01
  tally.input.judged = 2000;
  tally.sides = {sample_counts(3), sample_counts(5)};
  tally.sides[1].rules[0].examples = replay::Examples(5);
  tally.sides[1].rules[0].examples.add(sample_example(7, "A-7", "SM-0012"));
  tally.comparison.emplace();
  replay::ComparisonTally& comparison = *tally.comparison;
  comparison.shifts = {1993, 5, 0, 2, 0, 0};
  comparison.months = {{1000, 0, 0, 0, 0, 0}, {993, 5, 0, 2, 0, 0}};
  comparison.outcomes[0][5] = 5;
  comparison.examples.fill(replay::Examples(5));
  comparison.examples[1].add(sample_example(8, "A-8", "SM-0013"));
  comparison.rules.resize(6);
  comparison.rules[0].same = 398;
  comparison.rules[0].graver = 2;
  comparison.rules[0].examples = replay::Examples(5);
  comparison.rules[0].examples.add(sample_example(7, "A-7", "SM-0012"));
  comparison.rules[0].examples.add(sample_example(9, "A-9", "SM-0014"));
  comparison.rules[2].gone = 3;
  comparison.rules[5].newly = 5;
  return summary;
}

/// The same with one set of rules.
inline replay::Summary one_sided_summary() {
  replay::Summary summary = sample_summary();
  summary.head.sides.erase(summary.head.sides.begin());
  summary.head.sides[0].name = "rules";
  summary.head.all_rules = {"volume-limit", "quiet", "new-rule", "doubtful-value", "internal"};
  summary.tally.sides.erase(summary.tally.sides.begin());
  summary.tally.comparison.reset();
  for (replay::RuleTally& rule : summary.tally.sides[0].rules)
    rule.examples = replay::Examples(5);
  return summary;
}

}  // namespace meniscus::testing
