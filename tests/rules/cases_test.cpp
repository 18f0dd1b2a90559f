// The shipped rules on whole orders: sixty-six situations that nurses and pharmacists meet.
//
// Source of the grades: a careful reading (common practice); the published source of each rule's
// figures is its citation in rules/.  The orders go through the reader and the checker that the
// program runs.
#include <gtest/gtest.h>

#include <algorithm>
#include <memory>

#include "adapters/input/byte_sources.hpp"
#include "adapters/json/json_source.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/eval/checker.hpp"
#include "tests/rules/cases.hpp"

namespace meniscus {
namespace {

using rules_tests::Case;
using rules_tests::Expected;

const std::string kRules = MENISCUS_SOURCE_DIR "/rules";
const std::string kCases = MENISCUS_SOURCE_DIR "/tests/rules/cases/situations.cases";
constexpr std::int64_t kToday = 20515;  // 2026-03-03; the orders carry dates of their own

std::shared_ptr<const engine::Program> shipped_program() {
  static const adapters::LoadedRules kLoaded =
      adapters::load_rules({kRules}, adapters::re2_patterns());
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

Said read(const engine::Verdict& verdict) {
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

Said judge_last(const Case& c, engine::Mode mode) {
  const auto program = shipped_program();
  const engine::Feed feed;
  const engine::ReadContext context{program.get(), &feed};
  const auto source =
      adapters::make_json_source({"case.ndjson", adapters::memory_bytes(c.orders), 0}, context);
  engine::CheckOptions options;
  options.today = kToday;
  options.mode = mode;
  engine::Checker checker(program, options);
  engine::History history(program->look_back, program->history_fields, program->history_written);
  engine::OrderBlock block;
  Said last;
  std::size_t orders = 0;
  while (source->next(block)) {
    checker.check(block, history, [&](const engine::Verdict& verdict) {
      last = read(verdict);
      ++orders;
    });
  }
  last.orders = orders;
  return last;
}

bool agrees(const Said& said, const Expected& expected) {
  if (said.outcome != expected.outcome) return false;
  return expected.rule.empty() || said.has(expected.rule, expected.outcome);
}

class Situation : public ::testing::TestWithParam<Case> {};

TEST_P(Situation, GetsTheGradeThatACarefulColleagueWouldGive) {
  ASSERT_NE(shipped_program(), nullptr) << "the shipped rules do not compile";
  const Case& c = GetParam();
  ASSERT_FALSE(c.expected.empty());
  for (const engine::Mode mode : {engine::Mode::Columns, engine::Mode::OneByOne}) {
    const Said said = judge_last(c, mode);
    EXPECT_EQ(said.orders, c.count);
    EXPECT_TRUE(std::any_of(c.expected.begin(), c.expected.end(),
                            [&](const Expected& expected) { return agrees(said, expected); }))
        << c << ": expected " << c.expected.front().outcome << " from " << c.expected.front().rule
        << ", got " << said.text;
  }
}

INSTANTIATE_TEST_SUITE_P(Cases, Situation, ::testing::ValuesIn(rules_tests::read_cases(kCases)),
                         [](const auto& info) { return info.param.number; });

Case one_order(std::string json) { return {"", "", {}, std::move(json) + "\n", 1}; }

TEST(Situations, AnOralOrderIsOutside) {
  const Said said = judge_last(
      one_order(R"({"order":{"id":"A-1"},"patient":{"id":"SM-0101"},"dose":"10 mg","route":"PO"})"),
      engine::Mode::Columns);
  EXPECT_EQ(said.outcome, "outside") << said.text;
}

TEST(Situations, OnlyWhatIsMissingIsNamed) {
  const Said said = judge_last(
      one_order(R"({"order":{"id":"A-2"},"patient":{"id":"SM-0101","born":"1988-04-02"},)"
                R"("substance":{"code":"testosterone-cypionate"},"dose":"50 mg",)"
                R"("strength":"200 mg/mL","volume":"0.25 mL","route":"subcutaneous"})"),
      engine::Mode::Columns);
  EXPECT_EQ(said.outcome, "incomplete") << said.text;
  EXPECT_NE(said.text.find("patient.allergies (grave) allergy"), std::string::npos) << said.text;
  EXPECT_EQ(said.text.find("substance.preservative"), std::string::npos) << said.text;
  EXPECT_EQ(said.text.find("diluent"), std::string::npos) << said.text;
}

TEST(Situations, AllSixtySixAreThere) {
  std::vector<std::string> numbers;
  for (const Case& c : rules_tests::read_cases(kCases))
    numbers.push_back(c.number.substr(0, 4));
  std::sort(numbers.begin(), numbers.end());
  numbers.erase(std::unique(numbers.begin(), numbers.end()), numbers.end());
  EXPECT_EQ(numbers.size(), 66U);
}

}  // namespace
}  // namespace meniscus
