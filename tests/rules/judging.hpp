// Orders through the reader and the checker that the program runs, with the shipped rules.
#pragma once

#include <algorithm>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "adapters/input/byte_sources.hpp"
#include "adapters/json/json_source.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/eval/checker.hpp"

namespace meniscus::rules_tests {

constexpr std::int64_t kToday = 20605;  // 2026-06-01; the orders carry dates of their own

inline std::shared_ptr<const engine::Program> shipped_program() {
  static const adapters::LoadedRules kLoaded =
      adapters::load_rules({MENISCUS_SOURCE_DIR "/rules"}, adapters::re2_patterns());
  return kLoaded.program;
}

/// What was said about the last order of a case.
struct Said {
  std::size_t orders = 0;
  std::string outcome;
  std::vector<std::pair<std::string, std::string>> findings;  // rule, grade
  std::string text;                                           // for the message of a failed test

  [[nodiscard]] bool has(const std::string& rule, const std::string& grade) const {
    return std::find(findings.begin(), findings.end(), std::pair(rule, grade)) != findings.end();
  }
};

inline Said read(const engine::Verdict& verdict) {
  Said said;
  said.outcome = engine::name(verdict.outcome);
  said.text = said.outcome;
  for (const engine::Finding& finding : verdict.findings) {
    said.findings.emplace_back(finding.rule, engine::name(finding.grade));
    said.text.append("\n  ").append(engine::name(finding.grade)).append(" from ");
    said.text.append(finding.rule).append(": ").append(finding.say);
  }
  for (const engine::NotAssessed& line : verdict.not_assessed) {
    said.text.append("\n  not assessed: ")
        .append(line.missing)
        .append(line.grave ? " (grave)" : "");
    for (const std::string_view rule : line.rules)
      said.text.append(" ").append(rule);
  }
  return said;
}

/// What `program` says of the last of `orders` (JSON Lines); the others are the history.
inline Said judge_last(const std::string& orders, engine::Mode mode,
                       const std::shared_ptr<const engine::Program>& program = shipped_program()) {
  const engine::Feed feed;
  const engine::ReadContext context{program.get(), &feed};
  const auto source =
      adapters::make_json_source({"case.ndjson", adapters::memory_bytes(orders), 0}, context);
  engine::CheckOptions options;
  options.today = kToday;
  options.mode = mode;
  engine::Checker checker(program, options);
  engine::History history(program->look_back, program->history_fields, program->history_written);
  engine::OrderBlock block;
  Said last;
  std::size_t count = 0;
  while (source->next(block)) {
    checker.check(block, history, [&](const engine::Verdict& verdict) {
      last = read(verdict);
      ++count;
    });
  }
  last.orders = count;
  return last;
}

}  // namespace meniscus::rules_tests
