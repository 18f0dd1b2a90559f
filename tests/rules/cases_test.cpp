// The shipped rules on whole orders: sixty-six situations that nurses and pharmacists meet.
//
// Source of the grades: a careful reading (common practice); the published source of each rule's
// figures is its citation in rules/.  The orders go through the reader and the checker that the
// program runs.
#include <gtest/gtest.h>

#include <algorithm>

#include "tests/rules/cases.hpp"
#include "tests/rules/judging.hpp"

namespace meniscus {
namespace {

using rules_tests::Case;
using rules_tests::Expected;
using rules_tests::judge_last;
using rules_tests::Said;
using rules_tests::shipped_program;

const std::string kCases = MENISCUS_SOURCE_DIR "/tests/rules/cases/situations.cases";

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
    const Said said = judge_last(c.orders, mode);
    EXPECT_EQ(said.orders, c.count);
    EXPECT_TRUE(std::any_of(c.expected.begin(), c.expected.end(),
                            [&](const Expected& expected) { return agrees(said, expected); }))
        << c << ": expected " << c.expected.front().outcome << " from " << c.expected.front().rule
        << ", got " << said.text;
  }
}

INSTANTIATE_TEST_SUITE_P(Cases, Situation, ::testing::ValuesIn(rules_tests::read_cases(kCases)),
                         [](const auto& info) { return info.param.number; });

TEST(Situations, AnOralOrderIsOutside) {
  const Said said =
      judge_last(R"({"order":{"id":"A-1"},"patient":{"id":"SM-0101"},"dose":"10 mg","route":"PO"})",
                 engine::Mode::Columns);
  EXPECT_EQ(said.outcome, "outside") << said.text;
}

TEST(Situations, OnlyWhatIsMissingIsNamed) {
  const Said said =
      judge_last(R"({"order":{"id":"A-2"},"patient":{"id":"SM-0101","born":"1988-04-02"},)"
                 R"("substance":{"code":"testosterone-cypionate"},"dose":"50 mg",)"
                 R"("strength":"200 mg/mL","volume":"0.25 mL","route":"subcutaneous"})",
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
