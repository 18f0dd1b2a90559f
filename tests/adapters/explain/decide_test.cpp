// Which condition decided: the first that kept the order out, or all that let it in.
#include "engine/explain/decide.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "adapters/rules/example_orders.hpp"
#include "adapters/rules/why.hpp"
#include "engine/eval/facts.hpp"
#include "tests/support/rules_under_test.hpp"

namespace meniscus::adapters {
namespace {

using ::testing::ElementsAre;

/// One rule with this condition, and what decided it for one order: "text: truth, sides".
std::vector<std::string> decided(const std::string& condition, const testing::Fields& order,
                                 const std::string& lets = {}) {
  const testing::RulesUnderTest under_test(
      "setting most = 2 mL between 1 mL and 3 mL \"Most\"\nrule r \"R\"\n  " + lets +
      "\n  raise hold when " + condition + " say \"no\" blames volume\n");
  const engine::Program& program = under_test.program();
  engine::OrderBlock block;
  engine::ExampleOrder lines;
  for (const auto& [name, text] : order)
    lines.fields.push_back({*engine::field_named(name), text});
  ExampleOrders(program).add(block, lines, "A-1", false);
  engine::Scalar scalar(program);
  scalar.begin(engine::facts_of(block, 0, {std::nullopt, kExampleDay}));
  std::vector<std::string> out;
  const WhyTeller why(program);
  const engine::Rule& rule = program.rules[0];
  for (const WhyCondition& each :
       why.conditions(scalar, rule, engine::deciding(scalar, rule.clauses[0].when))) {
    out.push_back(each.text + ": " + std::string(truth_words(each.truth)) + ", " +
                  listed(each.sides));
  }
  return out;
}

TEST(Deciding, NamesTheFirstPartOfAnAndThatDoesNotHold) {
  EXPECT_THAT(decided("volume > 1 mL and dose > 5 mg and dose < 3 mg",
                      {{"volume", "2 mL"}, {"dose", "4 mg"}}),
              ElementsAre("dose > 5 mg: does not hold, dose = 4 mg"));
}

TEST(Deciding, NamesEveryPartOfAnAndThatHolds) {
  EXPECT_THAT(
      decided("volume > 1 mL and dose > 3 mg", {{"volume", "2 mL"}, {"dose", "4 mg"}}),
      ElementsAre("volume > 1 mL: holds, volume = 2 mL", "dose > 3 mg: holds, dose = 4 mg"));
}

TEST(Deciding, NamesThePartOfAnOrThatHolds) {
  EXPECT_THAT(decided("volume > 3 mL or dose > 3 mg", {{"volume", "2 mL"}, {"dose", "4 mg"}}),
              ElementsAre("dose > 3 mg: holds, dose = 4 mg"));
}

TEST(Deciding, NamesEveryPartOfAnOrThatDoesNotHold) {
  EXPECT_THAT(decided("volume > 3 mL or dose > 5 mg", {{"volume", "2 mL"}, {"dose", "4 mg"}}),
              ElementsAre("volume > 3 mL: does not hold, volume = 2 mL",
                          "dose > 5 mg: does not hold, dose = 4 mg"));
}

TEST(Deciding, NamesWhatIsMissing) {
  EXPECT_THAT(decided("volume > 1 mL and dose > 3 mg", {{"dose", "4 mg"}}),
              ElementsAre("volume > 1 mL: cannot be told, volume = (not stated)"));
}

TEST(Deciding, LooksThroughNotAndLets) {
  EXPECT_THAT(decided("not (large or dose > 3 mg)", {{"volume", "3 mL"}, {"dose", "2 mg"}},
                      "let large = volume > most"),
              ElementsAre("volume > most: holds, volume = 3 mL, most = 2 mL"));
}

TEST(Deciding, ShowsTheNotOfOneComparison) {
  EXPECT_THAT(decided("volume is not one of 1 mL, 2 mL", {{"volume", "2 mL"}}),
              ElementsAre("volume is not one of 1 mL, 2 mL: does not hold, volume = 2 mL"));
}

TEST(Deciding, ShowsTheNamedPartsOfAnExpression) {
  EXPECT_THAT(decided("volume differs from expected by more than 20 %",
                      {{"volume", "1 mL"}, {"dose", "50 mg"}, {"strength", "100 mg/mL"}},
                      "let expected = dose / strength"),
              ElementsAre("volume differs from expected by more than 20 %: holds, volume = 1 mL, "
                          "expected = 0.5 mL"));
}

}  // namespace
}  // namespace meniscus::adapters
