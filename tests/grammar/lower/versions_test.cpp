// Dates of force: both days included, one version a day, and what is said of dates that do not fit.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/quantity/calendar.hpp"
#include "grammar/lower/versions.hpp"
#include "tests/grammar/lower/rule_text.hpp"

namespace meniscus::grammar::testing {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

std::int64_t day(const char* text) { return engine::parse_date(text)->day(); }

Compiled on(const char* date, const std::string& text, const Tables& tables = {}) {
  CompileOptions options = options_with(tables);
  options.rules_day = day(date);
  return compile({{"test.rule", text}}, options);
}

std::string rule(const std::string& name, const std::string& dates, const std::string& condition) {
  return "rule " + name + " " + dates + " \"t\"\n    raise hold when " + condition +
         "\n        say \"x\"\n        blames volume\n";
}

std::vector<std::string> names(const std::vector<engine::Rule>& rules) {
  std::vector<std::string> all;
  for (const engine::Rule& each : rules)
    all.push_back(each.name + ":" + std::to_string(each.line));
  return all;
}

struct Edge {
  const char* name;
  const char* from;
  const char* until;
  const char* day;
  Standing standing;
};
std::ostream& operator<<(std::ostream& out, const Edge& edge) { return out << edge.name; }

constexpr Edge kEdges[] = {
    {"Open", "", "", "2026-03-02", Standing::InForce},
    {"DayBeforeFirst", "2026-03-02", "", "2026-03-01", Standing::Later},
    {"FirstDay", "2026-03-02", "", "2026-03-02", Standing::InForce},
    {"DayAfterFirst", "2026-03-02", "", "2026-03-03", Standing::InForce},
    {"DayBeforeLast", "", "2026-03-02", "2026-03-01", Standing::InForce},
    {"LastDay", "", "2026-03-02", "2026-03-02", Standing::InForce},
    {"DayAfterLast", "", "2026-03-02", "2026-03-03", Standing::Over},
    {"OneDay", "2026-03-02", "2026-03-02", "2026-03-02", Standing::InForce},
    {"LeapDay", "", "2028-02-29", "2028-02-29", Standing::InForce},
    {"DayAfterLeapDay", "", "2028-02-29", "2028-03-01", Standing::Over},
};

class Edges : public ::testing::TestWithParam<Edge> {};

TEST_P(Edges, BothDaysAreIncluded) {
  const Edge& edge = GetParam();
  EXPECT_EQ(standing_on(day(edge.day), {edge.from, {}}, {edge.until, {}}), edge.standing);
}
INSTANTIATE_TEST_SUITE_P(Days, Edges, ::testing::ValuesIn(kEdges),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(Versions, OfARuleTakeTurns) {
  const std::string text = rule("r", "until 2026-06-30", "volume > 1 mL") +
                           rule("r", "from 2026-07-01", "volume > 2 mL");
  for (const auto& [date, line] :
       {std::pair("2026-06-30", "r:1"), std::pair("2026-07-01", "r:5")}) {
    const Compiled compiled = on(date, text);
    EXPECT_THAT(lines_of(compiled), IsEmpty());
    ASSERT_NE(compiled.program, nullptr);
    EXPECT_THAT(names(compiled.program->rules), ElementsAre(line)) << date;
    EXPECT_THAT(names(compiled.program->aside), IsEmpty());
  }
}

TEST(Versions, TheHashSaysWhichIsInForceAndNotWhichDayItIs) {
  const std::string text = rule("r", "until 2026-06-30", "volume > 1 mL") +
                           rule("r", "from 2026-07-01", "volume > 2 mL");
  EXPECT_EQ(on("2026-06-01", text).program->hash, on("2026-06-30", text).program->hash);
  EXPECT_NE(on("2026-06-30", text).program->hash, on("2026-07-01", text).program->hash);
}

TEST(Versions, ARuleOutOfForceLeavesNoTraceInTheProgram) {
  const std::string plain = rule("r", "", "volume > 1 mL");
  const std::string later =
      rule("s", "from 2026-07-01", "(number of earlier injections within 50 wk) > 3");
  const Compiled compiled = on("2026-06-30", plain + later);
  ASSERT_NE(compiled.program, nullptr);
  EXPECT_EQ(print(*compiled.program), print(*on("2026-06-30", plain).program));
  EXPECT_EQ(compiled.program->look_back, 0);
  EXPECT_THAT(names(compiled.program->aside), ElementsAre("s:5"));
  EXPECT_GT(on("2026-07-01", plain + later).program->look_back, 0);
}

TEST(Versions, AComingRuleIsCheckedAndAPastOneIsNot) {
  const std::string text = rule("r", "from 2026-07-01", "volum > 1 mL");
  EXPECT_THAT(lines_of(on("2026-06-30", text)), ElementsAre("2:21 R0201 nothing is named `volum`"));
  EXPECT_THAT(lines_of(on("2026-06-30", rule("r", "until 2026-06-29", "volum > 1 mL"))), IsEmpty());
}

TEST(Versions, ThatOverlapAreAnErrorThatNamesBoth) {
  const std::string text = rule("r", "until 2026-07-01", "volume > 1 mL") +
                           rule("r", "from 2026-07-01", "volume > 2 mL");
  const Compiled compiled = on("2026-06-01", text);
  EXPECT_THAT(lines_of(compiled), ElementsAre("5:6 R0501 rule `r` has two versions on 2026-07-01"));
  EXPECT_EQ(compiled.diagnostics[0].help,
            "the other one stands in test.rule:1; let one end on the day before the other begins");
}

TEST(Versions, OneWithoutDatesIsInForceOnEveryDay) {
  const std::string text = "setting a = 1 mL \"x\"\nsetting a = 2 mL from 2026-07-01 \"x\"\n";
  EXPECT_THAT(lines_of(on("2026-06-01", text)),
              ElementsAre("2:9 R0501 setting `a` has two versions from 2026-07-01"));
}

TEST(Versions, DaysBetweenThemAreAWarning) {
  const std::string text = rule("r", "until 2026-06-28", "volume > 1 mL") +
                           rule("r", "from 2026-07-01", "volume > 2 mL");
  const Compiled compiled = on("2026-06-01", text);
  EXPECT_THAT(lines_of(compiled),
              ElementsAre("5:13 R0502 rule `r` has no version from 2026-06-29 to 2026-06-30"));
  EXPECT_NE(compiled.program, nullptr);
}

TEST(Versions, TheWrongWayRoundAreAnError) {
  EXPECT_THAT(
      lines_of(on("2026-06-01", "setting a = 1 mL from 2026-07-01 until 2026-06-30 \"x\"\n")),
      ElementsAre("1:40 R0503 the last day lies before the first"));
}

TEST(Versions, ADateThatIsNoneIsAnError) {
  EXPECT_THAT(lines_of(on("2026-06-01", "setting a = 1 mL until 2026-02-30 \"x\"\n")),
              ElementsAre("1:24 R0424 `2026-02-30` is not a date: the month has no such day"));
}

TEST(Versions, OfASettingTakeTurns) {
  const std::string text =
      "setting a = 1 mL until 2026-06-30 \"x\"\nsetting a = 2 mL from 2026-07-01 \"x\"\n";
  EXPECT_EQ(on("2026-06-30", text).program->settings.at(0).value.text, "1 mL");
  EXPECT_EQ(on("2026-07-01", text).program->settings.at(0).value.text, "2 mL");
}

TEST(Versions, ASettingOutOfForceCountsAsUnset) {
  const std::string text = "setting a = 1 mL until 2026-06-30 \"x\"\n" + rule_when("volume > a");
  const Compiled compiled = on("2026-07-01", text);
  EXPECT_THAT(lines_of(compiled),
              ElementsAre("1:9 R0505 setting `a` has no version on 2026-07-01, so it counts as "
                          "unset"));
  ASSERT_NE(compiled.program, nullptr);
  EXPECT_FALSE(compiled.program->settings.at(0).value.known());
}

constexpr const char* kOld = "code,most [volume]\nm,1 mL\n";
constexpr const char* kNew = "code,most [volume]\nm,2 mL\nn,3 mL\n";

std::string looks_up() {
  return rule_when("volume > (look up most in limits where row.code is substance.code)");
}

TEST(Versions, OfATableTakeTurns) {
  const std::string text =
      "table limits from \"old.csv\" until 2026-06-30\n"
      "table limits from \"new.csv\" from 2026-07-01\n" +
      looks_up();
  const Tables tables = {{"old.csv", kOld}, {"new.csv", kNew}};
  ASSERT_NE(on("2026-06-30", text, tables).program, nullptr);
  EXPECT_EQ(on("2026-06-30", text, tables).program->tables.at(0).rows(), 1U);
  EXPECT_EQ(on("2026-07-01", text, tables).program->tables.at(0).rows(), 2U);
  EXPECT_EQ(on("2026-07-01", text, tables).program->tables.size(), 1U);
}

TEST(Versions, ATableOutOfForceIsAnErrorWhereARuleInForceLooksIntoIt) {
  const std::string text = "table limits from \"new.csv\" from 2026-07-01\n";
  const Tables tables = {{"new.csv", kNew}};
  EXPECT_THAT(lines_of(on("2026-06-30", text, tables)), IsEmpty());
  EXPECT_THAT(lines_of(on("2026-06-30", text + looks_up(), tables)),
              ElementsAre("1:7 R0504 rules look into table `limits`, which has no version on "
                          "2026-06-30"));
  const std::string both =
      text + rule("r", "from 2026-07-01",
                  "volume > (look up most in limits where row.code is substance.code)");
  EXPECT_THAT(lines_of(on("2026-06-30", both, tables)), IsEmpty());
  EXPECT_THAT(lines_of(on("2026-07-01", both, tables)), IsEmpty());
}

TEST(Versions, APastTableNeedsItsFileNoMore) {
  EXPECT_THAT(lines_of(on("2026-07-01", "table limits from \"gone.csv\" until 2026-06-30\n")),
              IsEmpty());
}

TEST(Versions, ExamplesBelongToTheVersionBeforeThem) {
  const std::string example = "example \"e\"\n    order volume = 3 mL\n    expect hold from r\n";
  const std::string text = rule("r", "until 2026-06-30", "volume > 1 mL") + example +
                           rule("r", "from 2026-07-01", "volume > 2 mL") + example + example;
  EXPECT_EQ(on("2026-06-30", text).program->examples.size(), 1U);
  EXPECT_EQ(on("2026-07-01", text).program->examples.size(), 2U);
}

}  // namespace
}  // namespace meniscus::grammar::testing
