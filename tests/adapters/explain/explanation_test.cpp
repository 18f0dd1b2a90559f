// Why a rule spoke or not, and the smallest change that turns it round: found by judging again.
#include "adapters/rules/explanation.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "adapters/rules/example_orders.hpp"
#include "tests/support/rules_under_test.hpp"

namespace meniscus::adapters {
namespace {

using engine::RuleEnd;

struct Case {
  const char* name;
  const char* rule;
  testing::Fields order;
  RuleEnd end;
  const char* change;  // "volume 0.5 mL -> 1.01 mL: fired hold"; empty: none
};
void PrintTo(const Case& c, std::ostream* out) { *out << c.name; }

constexpr const char* kLimit = "raise hold when volume > 1 mL say \"no\" blames volume";
constexpr const char* kTwo =
    "raise hold when volume > 2 mL say \"a\" blames volume\n"
    "raise clarify when volume > 1 mL say \"b\" blames volume";
constexpr const char* kShare =
    "raise hold when volume differs from dose / strength by more than 20 % say \"no\" blames "
    "volume";
constexpr const char* kBoth =
    "raise hold when volume > 1 mL and dose > 5 mg say \"no\" blames volume";

const Case kCases[] = {
    {"Below", kLimit, {{"volume", "0.5 mL"}}, RuleEnd::Clear, "volume 0.5 mL -> 1.01 mL: hold"},
    {"AtTheLimit", kLimit, {{"volume", "1 mL"}}, RuleEnd::Clear, "volume 1 mL -> 1.01 mL: hold"},
    {"Above", kLimit, {{"volume", "2.5 mL"}}, RuleEnd::Fired, "volume 2.5 mL -> 1 mL: nothing"},
    {"InItsOwnUnit",
     kLimit,
     {{"volume", "2500 uL"}},
     RuleEnd::Fired,
     "volume 2500 uL -> 1000 uL: nothing"},
    {"PastTheMilderClause",
     kTwo,
     {{"volume", "3 mL"}},
     RuleEnd::Fired,
     "volume 3 mL -> 1 mL: nothing"},
    {"ByShare",
     kShare,
     {{"volume", "0.5 mL"}, {"dose", "10 mg"}, {"strength", "10 mg/mL"}},
     RuleEnd::Fired,
     "volume 0.5 mL -> 0.8 mL: nothing"},
    {"OneOfTwo",
     kBoth,
     {{"volume", "2 mL"}, {"dose", "4 mg"}},
     RuleEnd::Clear,
     "dose 4 mg -> 5.1 mg: hold"},
    {"NeedsTwo", kBoth, {{"volume", "0.5 mL"}, {"dose", "4 mg"}}, RuleEnd::Clear, ""},
    {"Word",
     "concerns orders where route is subcutaneous\nraise hold when volume > 1 mL say \"no\" blames "
     "volume",
     {{"volume", "2 mL"}, {"route", "oral"}},
     RuleEnd::NotAbout,
     "route oral -> subcutaneous: hold"},
    {"Date",
     "raise hold when schedule.start is before 2026-03-02 say \"no\" blames schedule.start",
     {{"schedule.start", "2026-03-09"}},
     RuleEnd::Clear,
     "schedule.start 2026-03-09 -> 2026-03-01: hold"},
    {"Gauge",
     "raise hold when needle.gauge thinner than 25 G say \"no\" blames needle.gauge",
     {{"needle.gauge", "21 G"}},
     RuleEnd::Clear,
     "needle.gauge 21 G -> 26 G: hold"},
    {"Missing", kLimit, {{"dose", "4 mg"}}, RuleEnd::Undecided, ""}};

class Explain : public ::testing::TestWithParam<Case> {};
TEST_P(Explain, FindsWhatTurnsItRound) {
  const testing::RulesUnderTest under_test(
      "table routes from \"routes.csv\"\nrule r \"R\"\n" + std::string(GetParam().rule) + "\n",
      {{"routes.csv", "route,injection [yes/no]\nsubcutaneous,yes\noral,no\n"}});
  const engine::Program& program = under_test.program();
  engine::OrderBlock block;
  engine::ExampleOrder lines;
  for (const auto& [name, text] : GetParam().order)
    lines.fields.push_back({*engine::field_named(name), text});
  ExampleOrders(program).add(block, lines, "A-1", false);
  const engine::Days days{std::nullopt, kExampleDay};
  const engine::FieldSet never;
  Explainer explainer(program, days, never);
  const RuleExplanation got = explainer.explain(engine::facts_of(block, 0, days), 0);
  EXPECT_EQ(got.answer.end, GetParam().end);
  EXPECT_FALSE(got.conditions.empty());
  std::string change;
  if (got.change) {
    change = std::string(engine::info(got.change->field).name) + " " + got.change->from + " -> " +
             got.change->to + ": ";
    change += got.change->then.end == RuleEnd::Fired
                  ? std::string(engine::name(got.change->then.grade))
                  : "nothing";
  }
  EXPECT_EQ(change, GetParam().change);
}
INSTANTIATE_TEST_SUITE_P(Rules, Explain, ::testing::ValuesIn(kCases),
                         [](const auto& info) { return std::string(info.param.name); });

}  // namespace
}  // namespace meniscus::adapters
