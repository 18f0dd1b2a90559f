// Which small changes of a rule its tests notice, and which not: a rule whose boundary nobody tests
// must be listed, one whose boundary is tested must not.
//
// Source: docs/writing-rules.md, "What the tests would notice".
#include "adapters/rules/coverage.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/rules_under_test.hpp"

namespace meniscus::adapters {
namespace {

using engine::MutantKind;
using ::testing::ElementsAre;
using ::testing::IsEmpty;
using ::testing::Not;
using ::testing::UnorderedElementsAre;

std::string word(MutantKind kind) {
  switch (kind) {
    case MutantKind::AtLimit:
      return "at";
    case MutantKind::LimitUp:
      return "up";
    case MutantKind::LimitDown:
      return "down";
    case MutantKind::Opposite:
      return "opposite";
    case MutantKind::Milder:
      return "grade";
  }
  return {};
}

struct Covered {
  Coverage coverage;
  std::vector<std::string> unnoticed;  // "volume > 1 mL: at"
  std::vector<std::string> telling;    // "volume > 1 mL: at, volume = 1 mL: clear, hold"
};

Covered covered(const std::string& rules) {
  const testing::RulesUnderTest under_test(rules);
  const engine::Program& program = under_test.program();
  Tests tests;
  for (const engine::Example& example : program.examples)
    tests.push_back(&example);
  std::vector<std::uint32_t> all;
  for (std::uint32_t i = 0; i < program.rules.size(); ++i)
    all.push_back(i);
  Covered out{cover(under_test.shared(), tests, all, true), {}, {}};
  for (const Unnoticed& each : out.coverage.unnoticed) {
    const std::string what =
        (each.condition.empty() ? each.grade : each.condition) + ": " + word(each.kind);
    out.unnoticed.push_back(what);
    if (!each.telling) continue;
    out.telling.push_back(what + ", " + each.telling->order + ": " + each.telling->now + ", " +
                          each.telling->changed);
  }
  return out;
}

/// A rule with this condition, and one example a volume: "1.5 mL hold".
std::string rule_with(const std::string& when,
                      const std::vector<std::pair<std::string, std::string>>& tests,
                      const std::string& more = {}) {
  std::string text = "rule r \"R\"\n  concerns all orders\n  raise hold when " + when +
                     " say \"no\" blames volume\n" + more;
  for (const auto& [order, expected] : tests)
    text += "example \"e\"\n  order " + order + "\n  expect " + expected + " from r\n";
  return text;
}

TEST(Coverage, AnUntestedBoundaryIsListedWithAnOrderThatWouldTell) {
  const Covered got = covered(
      rule_with("volume > 1 mL", {{"volume = 0.5 mL", "clear"}, {"volume = 3 mL", "hold"}}));
  EXPECT_THAT(got.unnoticed, UnorderedElementsAre("volume > 1 mL: at", "volume > 1 mL: up",
                                                  "volume > 1 mL: down"));
  EXPECT_THAT(got.telling,
              UnorderedElementsAre("volume > 1 mL: at, volume = 1 mL: clear, hold",
                                   "volume > 1 mL: up, volume = 1.01 mL: hold, clear",
                                   "volume > 1 mL: down, volume = 0.99 mL: clear, hold"));
  EXPECT_EQ(got.coverage.changes, 5U) << "its opposite, three points and the grade";
  EXPECT_EQ(got.coverage.noticed, 2U);
  EXPECT_EQ(got.coverage.at.held, 0U);
}

TEST(Coverage, ATestedBoundaryIsNot) {
  const Covered got = covered(
      rule_with("volume > 1 mL", {{"volume = 1 mL", "clear"}, {"volume = 1.05 mL", "hold"}}));
  EXPECT_THAT(got.unnoticed, IsEmpty());
  EXPECT_EQ(got.coverage.noticed, got.coverage.changes);
  EXPECT_EQ(got.coverage.at.held, 1U);
  EXPECT_EQ(got.coverage.above.held, 1U);
  EXPECT_EQ(got.coverage.below.held, 1U);
}

TEST(Coverage, AtTheLimitIsNotTestedByWhatIsBesideIt) {
  const Covered got = covered(
      rule_with("volume > 1 mL", {{"volume = 0.95 mL", "clear"}, {"volume = 1.05 mL", "hold"}}));
  EXPECT_THAT(got.unnoticed, ElementsAre("volume > 1 mL: at"));
}

TEST(Coverage, AGradeThatNobodyExpectsIsListed) {
  const Covered got = covered(
      "rule r \"R\"\n  concerns all orders\n  raise hold when volume is given say \"a\" blames "
      "volume\n"
      "example \"e\"\n  order dose = 5 mg\n  expect nothing from r\n");
  EXPECT_THAT(got.unnoticed, ElementsAre("hold: grade"));
}

TEST(Coverage, AnOppositeThatNobodyNoticesIsListed) {
  const Covered got =
      covered(rule_with("volume > 1 mL and not (dose > 5 mg and route is subcutaneous)",
                        {{"volume = 3 mL, dose = 1 mg", "hold"}}));
  EXPECT_THAT(got.unnoticed, ::testing::Contains("route is subcutaneous: opposite"));
  EXPECT_THAT(got.unnoticed, Not(::testing::Contains("volume > 1 mL: opposite")));
}

TEST(Coverage, ARuleIsJudgedByItsOwnTests) {
  const Covered got = covered(rule_with("volume > 1 mL", {}) +
                              "rule s \"S\"\n  concerns all orders\n  raise note when volume > 1 "
                              "mL say \"s\" blames volume\n"
                              "example \"e\"\n  order volume = 1 mL\n  expect clear from s\n"
                              "example \"e\"\n  order volume = 1.05 mL\n  expect note from s\n");
  EXPECT_EQ(got.coverage.noticed, 5U) << "all of s, none of r";
  EXPECT_EQ(got.coverage.changes, 10U);
}

TEST(Coverage, AnExpectationOfTheWholeOrderCounts) {
  const std::string text = rule_with("volume > 1 mL", {}) +
                           "example \"e\"\n  order volume = 1 mL\n  expect clear\n"
                           "example \"e\"\n  order volume = 1.05 mL\n  expect hold\n";
  EXPECT_EQ(covered(text).coverage.noticed, 5U);
}

TEST(Mutator, PutsEverythingBack) {
  const testing::RulesUnderTest under_test(
      "setting most = 2 mL between 1 mL and 3 mL \"Most\"\n"
      "rule r \"R\"\n  concerns orders where route is one of subcutaneous, intramuscular\n"
      "  raise hold when volume between 1 mL and most and not (needle.gauge thinner than 25 G or\n"
      "    schedule.start is before 2026-03-02 or volume differs from 1 mL by more than 5 %)\n"
      "    say \"no\" blames volume\n"
      "  without route raise note say \"no\"\n");
  engine::Mutator mutator(under_test.program());
  const std::string before = engine::print(mutator.program());
  const std::vector<engine::Mutant> all = mutator.mutants(0);
  EXPECT_EQ(all.size(), 22U);
  for (const engine::Mutant& mutant : all) {
    mutator.apply(0, mutant);
    if (mutant.clause || mutant.node != engine::kNoNode) {
      EXPECT_NE(engine::print(mutator.program()), before) << word(mutant.kind);
    }
    mutator.undo();
    // The nodes that changes may use stand behind those of the rules.
    const std::string after = engine::print(mutator.program());
    const std::size_t own = under_test.program().nodes.size();
    const std::string first_spare = "\nn" + std::to_string(own) + " ";
    EXPECT_EQ(after.substr(0, after.find(first_spare)), before.substr(0, before.find(first_spare)));
  }
}

struct Limit {
  const char* name;
  const char* when;
  std::vector<std::pair<std::string, std::string>> tests;
  std::size_t points;
};
void PrintTo(const Limit& limit, std::ostream* out) { *out << limit.name; }

/// Each of these is tested at, below and above its limits, so nothing is left over.
const Limit kLimits[] = {
    {"AtMost",
     "volume <= 1 mL",
     {{"volume = 1 mL", "hold"}, {"volume = 1.05 mL", "clear"}, {"volume = 0.95 mL", "hold"}},
     3},
    {"LimitOnTheLeft",
     "1 mL < volume",
     {{"volume = 1 mL", "clear"}, {"volume = 1.05 mL", "hold"}},
     3},
    {"Between",
     "volume between 1 mL and 2 mL",
     {{"volume = 1 mL", "hold"},
      {"volume = 0.95 mL", "clear"},
      {"volume = 2 mL", "hold"},
      {"volume = 2.1 mL", "clear"}},
     6},
    {"Differs",
     "volume differs from dose / strength by more than 20 %",
     {{"dose = 10 mg, strength = 10 mg/mL, volume = 1.2 mL", "clear"},
      {"dose = 10 mg, strength = 10 mg/mL, volume = 1.21 mL", "hold"}},
     3},
    {"Days",
     "days since schedule.last-given < 7 days",
     {{"schedule.start = 2026-03-09, order.placed = 2026-03-09, schedule.last-given = 2026-03-02",
       "clear"},
      {"schedule.start = 2026-03-08, order.placed = 2026-03-08, schedule.last-given = 2026-03-02",
       "hold"}},
     3},
    {"Gauge",
     "needle.gauge thinner than 25 G",
     {{"needle.gauge = 25 G", "clear"}, {"needle.gauge = 27 G", "hold"}},
     3},
    {"Date",
     "schedule.start is before 2026-03-02",
     {{"schedule.start = 2026-03-02", "clear"}, {"schedule.start = 2026-03-01", "hold"}},
     3}};

class EveryLimit : public ::testing::TestWithParam<Limit> {};
TEST_P(EveryLimit, HasItsPointsAndTheyCanBeHeld) {
  const Covered got = covered(rule_with(GetParam().when, GetParam().tests));
  const Coverage& c = got.coverage;
  EXPECT_EQ(c.below.all + c.at.all + c.above.all, GetParam().points);
  EXPECT_THAT(got.unnoticed, IsEmpty());
}
TEST_P(EveryLimit, IsListedWhenItsTestsStandFarAway) {
  std::vector<std::pair<std::string, std::string>> far;
  const Covered got = covered(rule_with(GetParam().when, far));
  EXPECT_EQ(got.coverage.noticed, 0U);
  EXPECT_EQ(got.unnoticed.size(), got.coverage.changes);
}
INSTANTIATE_TEST_SUITE_P(Limits, EveryLimit, ::testing::ValuesIn(kLimits),
                         [](const auto& info) { return std::string(info.param.name); });

}  // namespace
}  // namespace meniscus::adapters
