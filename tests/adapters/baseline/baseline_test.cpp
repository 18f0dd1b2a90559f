// Baselines: what is kept, in which order, what it hides, and what it never hides.
//
// Checked against: docs/data-check.md; the grading of verdicts that are left, against the engine's
// own rule (design: an order's outcome is its worst grade, incomplete above caution).
#include "adapters/baseline/baseline.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <string>

#include "adapters/baseline/hide_known.hpp"

namespace meniscus::adapters {
namespace {
using engine::Grade;
using engine::Outcome;
using ::testing::HasSubstr;

FindingKey key(std::string file, std::string rule, std::string order, std::uint16_t clause = 1) {
  FindingKey key;
  key.file = std::move(file);
  key.rule = std::move(rule);
  key.order = std::move(order);
  key.clause = clause;
  key.fields = {"volume"};
  return key;
}

TEST(Baseline, HasOneFindingALineInOneOrder) {
  Baseline one;
  EXPECT_TRUE(one.add(key("b.csv", "dose-range", "11"), Grade::Clarify));
  EXPECT_TRUE(one.add(key("a.csv", "vial-plan", "22", 0), Grade::Note));
  Baseline other;
  EXPECT_TRUE(other.add(key("a.csv", "vial-plan", "22", 0), Grade::Note));
  EXPECT_TRUE(other.add(key("b.csv", "dose-range", "11"), Grade::Clarify));
  EXPECT_TRUE(other.add(key("b.csv", "dose-range", "11"), Grade::Clarify));
  EXPECT_EQ(one.text(),
            R"({"file":"a.csv","rule":"vial-plan","fields":["volume"],"order":"22","grade":"note"})"
            "\n"
            R"({"file":"b.csv","rule":"dose-range","clause":1,"fields":["volume"],"order":"11",)"
            R"("grade":"clarify"})"
            "\n");
  EXPECT_EQ(one.text(), other.text());
}

TEST(Baseline, IsReadAsItWasWritten) {
  Baseline written;
  EXPECT_TRUE(written.add(key("a \"b\".csv", "rule", "11", 3), Grade::Caution));
  const ReadBaseline read = read_baseline(written.text());
  EXPECT_TRUE(read.problems.empty());
  EXPECT_EQ(read.baseline.text(), written.text());
  EXPECT_TRUE(read.baseline.hides(key("a \"b\".csv", "rule", "11", 3), Grade::Caution));
}

TEST(Baseline, HidesNothingGraverThanItHolds) {
  Baseline baseline;
  EXPECT_TRUE(baseline.add(key("a.csv", "rule", "11"), Grade::Caution));
  EXPECT_TRUE(baseline.hides(key("a.csv", "rule", "11"), Grade::Note));
  EXPECT_TRUE(baseline.hides(key("a.csv", "rule", "11"), Grade::Caution));
  EXPECT_FALSE(baseline.hides(key("a.csv", "rule", "11"), Grade::Clarify));
  EXPECT_FALSE(baseline.hides(key("a.csv", "rule", "12"), Grade::Note));
  EXPECT_FALSE(baseline.hides(key("a.csv", "rule", "11", 2), Grade::Note));
}

TEST(Baseline, NeverHoldsAHoldOrAnOrderWithoutANumber) {
  Baseline baseline;
  EXPECT_FALSE(baseline.add(key("a.csv", "rule", "11"), Grade::Hold));
  EXPECT_FALSE(baseline.add(key("a.csv", "rule", ""), Grade::Note));
  EXPECT_EQ(baseline.size(), 0U);
  const ReadBaseline added_by_hand = read_baseline(
      R"({"file":"a.csv","rule":"rule","clause":1,"fields":["volume"],"order":"11","grade":"hold"})");
  EXPECT_EQ(added_by_hand.holds, 1U);
  EXPECT_FALSE(added_by_hand.baseline.hides(key("a.csv", "rule", "11"), Grade::Hold));
  EXPECT_FALSE(added_by_hand.baseline.hides(key("a.csv", "rule", "11"), Grade::Note));
}

struct Mistake {
  std::string_view name, line, message;
  std::uint64_t column;
};
std::ostream& operator<<(std::ostream& os, const Mistake& mistake) { return os << mistake.name; }
class BaselineMistakes : public ::testing::TestWithParam<Mistake> {};
TEST_P(BaselineMistakes, AreSaidWithLineAndColumn) {
  const ReadBaseline read = read_baseline("\n" + std::string(GetParam().line) + "\n");
  ASSERT_FALSE(read.problems.empty());
  EXPECT_THAT(read.problems[0].message, HasSubstr(std::string(GetParam().message)));
  EXPECT_EQ(read.problems[0].line, 2U);
  EXPECT_EQ(read.problems[0].column, GetParam().column);
  EXPECT_EQ(read.baseline.size(), 0U);
}
const Mistake kMistakes[] = {
    {"NoJson", "<<<<<<< ours", "this is no JSON", 1},
    {"NoObject", "[]", "a line of a baseline is an object", 1},
    {"UnknownKey", R"({"file":"a","rule":"r","clauze":1,"fields":[],"order":"1","grade":"note"})",
     "unknown key `clauze`; is `clause` meant?", 33},
    {"NoGrade", R"({"file":"a","rule":"r","fields":[],"order":"1","grade":"red"})",
     "`red` is no grade", 56},
    {"ClauseBelowOne",
     R"({"file":"a","rule":"r","clause":0,"fields":[],"order":"1","grade":"note"})",
     "a whole number from 1 on", 33},
    {"NothingMissing", R"({"file":"a"})", "`rule` is missing", 1},
};
INSTANTIATE_TEST_SUITE_P(Lines, BaselineMistakes, ::testing::ValuesIn(kMistakes),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(Baseline, FileIsReplacedAsAWholeOrLeft) {
  const std::filesystem::path folder =
      std::filesystem::path(::testing::TempDir()) / "meniscus-baseline";
  std::filesystem::create_directories(folder);
  const std::string path = folder / "known.jsonl";
  Baseline baseline;
  EXPECT_TRUE(baseline.add(key("a.csv", "rule", "11"), Grade::Note));
  ASSERT_TRUE(write_baseline_file(path, baseline));
  ASSERT_TRUE(write_baseline_file(path, baseline));
  const auto read = read_baseline_file(path);
  ASSERT_TRUE(read);
  EXPECT_EQ(read->baseline.text(), baseline.text());
  EXPECT_FALSE(write_baseline_file(folder, baseline));
  EXPECT_FALSE(write_baseline_file(folder / "no" / "known.jsonl", baseline));
  EXPECT_FALSE(read_baseline_file(folder / "none.jsonl"));
  EXPECT_FALSE(read_baseline_file(folder));
  std::filesystem::remove_all(folder);
  std::filesystem::remove(folder.string() + ".new");
}

engine::Verdict verdict_with(const std::vector<Grade>& grades) {
  engine::Verdict verdict;
  for (std::size_t i = 0; i < grades.size(); ++i) {
    engine::Finding& finding = verdict.add_finding();
    finding.grade = grades[i];
    finding.rule = i == 0 ? "first" : "other";
    finding.group = static_cast<std::uint16_t>(i + 1);
    verdict.outcome = std::max(verdict.outcome, engine::outcome_of(grades[i]));
  }
  return verdict;
}
bool is_first(const engine::Finding& finding) { return finding.rule == "first"; }

TEST(HideKnown, GradesByWhatIsLeft) {
  engine::Verdict verdict = verdict_with({Grade::Clarify, Grade::Caution, Grade::Note});
  EXPECT_EQ(hide_known(verdict, is_first), 1U);
  EXPECT_EQ(verdict.outcome, Outcome::Caution);
  ASSERT_EQ(verdict.findings.size(), 2U);
  EXPECT_EQ(verdict.findings[0].group, 1);
  EXPECT_EQ(verdict.findings[1].group, 2);
}

TEST(HideKnown, NeverHidesWhatCouldNotBeChecked) {
  engine::Verdict verdict = verdict_with({Grade::Clarify});
  verdict.not_assessed = {{"needle.gauge", {"needle-thin"}, true}};
  EXPECT_EQ(hide_known(verdict, is_first), 1U);
  EXPECT_EQ(verdict.outcome, Outcome::Incomplete);
}

TEST(HideKnown, LeavesOutsideOutsideAndUntouchedUntouched) {
  engine::Verdict verdict = verdict_with({Grade::Clarify});
  verdict.outcome = Outcome::Outside;
  EXPECT_EQ(hide_known(verdict, is_first), 1U);
  EXPECT_EQ(verdict.outcome, Outcome::Outside);
  verdict = verdict_with({Grade::Caution});
  EXPECT_EQ(hide_known(verdict, [](const engine::Finding&) { return false; }), 0U);
  EXPECT_EQ(verdict.outcome, Outcome::Caution);
}

}  // namespace
}  // namespace meniscus::adapters
