// Putting parts together (contract: summary.hpp); their JSON is in summary_json.cpp and
// part_json.cpp.
#include "adapters/replay/summary.hpp"

#include <algorithm>

#include "adapters/report/local_changes.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters::replay {

namespace {
RuleInfo rule_info(const engine::Rule& rule) {
  RuleInfo info;
  info.name = rule.name;
  info.title = rule.title;
  info.cite = rule.cite;
  info.owner = rule.owner;
  info.trial = rule.trial.has_value();
  for (const engine::Clause& clause : rule.clauses)
    info.clauses.push_back(clause.grade);
  for (const engine::Without& without : rule.withouts)
    info.withouts.push_back(without.ignore ? std::nullopt : std::optional(without.grade));
  return info;
}

engine::Error mismatch(std::string sentence) {
  return {engine::Errc::Usage, std::move(sentence), 0, 0};
}
}  // namespace

SideInfo side_info(std::string name, const engine::Program& program) {
  SideInfo side;
  side.name = std::move(name);
  side.hash = program.hash;
  side.rules_day = program.rules_day;
  for (const engine::LocalChange& change : program.changes) {
    side.changes.push_back({change.what, change.because, change.by,
                            change.until ? engine::format_day(*change.until) : std::string(),
                            change.over});
  }
  for (const engine::Rule& rule : program.rules)
    side.rules.push_back(rule_info(rule));
  for (std::size_t i = 0; i < kBuiltInRules; ++i) {
    RuleInfo& info = side.rules.emplace_back();
    info.name = built_in_rule(i);
    info.title =
        i == 0 ? "A value that cannot be read or could mean two things" : "The program's own error";
    info.built_in = true;
  }
  return side;
}

engine::Result<Summary> merge_parts(std::span<const Summary> parts) {
  if (parts.empty()) return mismatch("there are no parts");
  Summary whole{parts[0].head, {}, {1, 1}, {}};
  const std::uint32_t of = parts[0].shard.of;
  std::vector<bool> there(of, false);
  // In the order of their numbers, so that what is kept in the order of arrival is the same.
  std::vector<const Summary*> sorted;
  for (const Summary& part : parts)
    sorted.push_back(&part);
  std::ranges::sort(sorted, {}, [](const Summary* part) { return part->shard.number; });
  for (const Summary* part : sorted) {
    if (part->shard.of != of || !(part->head == whole.head))
      return mismatch("the parts are of different runs: other inputs, rules or settings");
    const std::uint32_t number = part->shard.number;
    if (number < 1 || number > of) return mismatch("a part says that it is no part of its run");
    if (there[number - 1])
      return mismatch("part " + std::to_string(number) + " of " + std::to_string(of) +
                      " is there twice");
    there[number - 1] = true;
    whole.tally.merge(part->tally);
  }
  for (std::uint32_t i = 0; i < of; ++i) {
    if (!there[i])
      return mismatch("part " + std::to_string(i + 1) + " of " + std::to_string(of) +
                      " is missing");
  }
  return whole;
}

}  // namespace meniscus::adapters::replay
