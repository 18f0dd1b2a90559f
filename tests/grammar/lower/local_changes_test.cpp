// Local changes: every mistake in its place, every edge of their days, what they make of a program.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/quantity/calendar.hpp"
#include "grammar/lower/changes.hpp"
#include "tests/grammar/lower/rule_text.hpp"

namespace meniscus::grammar::testing {
namespace {

using ::testing::ElementsAre;
using ::testing::ElementsAreArray;
using ::testing::IsEmpty;

constexpr std::int64_t kDay = 20514;  // 2026-03-02

constexpr const char* kShipped = R"(setting limit = 1.5 mL between 0.5 mL and 3 mL "t"
setting open unset "t"
setting thick = yes "t"
table products from "products.csv"
rule mild "t"
    raise caution when volume > limit
        say "x"
        blames volume
    raise note when volume > 0.4 mL
        say "y"
        blames volume
    without volume ignore
rule grave "t"
    raise hold when volume > 5 mL
        say "x"
        blames volume
    raise clarify when volume > open
        say "x"
        blames volume
    without open ignore
rule table-rule "t"
    raise note when volume > (look up most in products where row.code is substance.code)
        say "x"
        blames volume
rule strict "t"
    raise hold when volume > 9 mL
        say "x"
        blames volume
)";

const Tables kTables = {{"products.csv", "code,most [volume],note [text]\nm,1 mL,a\nn,2 mL,\n"},
                        {"ours.csv", "code,note [text],most [volume]\no,ours,3 mL\np,,\n"},
                        {"empty.csv", "code,most [volume],note [text]\n"},
                        {"same.csv", "code,most [volume],note [text]\no,1 mL,\nn,2 mL,\n"},
                        {"twice.csv", "code,most [volume],note [text]\no,1 mL,\no,2 mL,\n"},
                        {"other-head.csv", "code,mots [volume],note [text]\no,1 mL,\n"},
                        {"other-kind.csv", "code,most [mass],note [text]\no,1 mg,\n"},
                        {"broken.csv", "code,most [volume],note [text]\no,1 mg,\n"}};

Compiled compile_local(const std::string& local, bool allow = false, std::int64_t day = kDay) {
  CompileOptions options = options_with(kTables);
  options.rules_day = day;
  options.allow_mute_hold = allow;
  return compile({{"local.rule", local}, {"shipped.rule", kShipped, true}}, options);
}

std::string because(const std::string& change, const std::string& until = "2026-12-31") {
  return change + " because \"protocol\" by \"lead nurse\" until " + until + "\n";
}

struct Case {
  std::string name;
  std::string local;
  std::vector<std::string> diagnostics;
  bool allow = false;
};
std::ostream& operator<<(std::ostream& out, const Case& c) { return out << c.name; }

const std::vector<Case>& cases() {
  static const std::vector<Case> kCases = {
      // adjust
      {"AdjustUnknown",
       because("adjust limmit = 2 mL"),
       {"1:8 R0201 no setting is named `limmit`"}},
      {"AdjustAboveTheRange",
       because("adjust limit = 4 mL"),
       {"1:16 R0425 `4 mL` is outside what is permitted for `limit`: between `0.5 mL` and `3 mL`"}},
      {"AdjustBelowTheRange",
       because("adjust limit = 0.4 mL"),
       {"1:16 R0425 `0.4 mL` is outside what is permitted for `limit`: between `0.5 mL` and "
        "`3 mL`"}},
      {"AdjustToTheEdge", because("adjust limit = 3 mL"), {}},
      {"AdjustAnotherDimension",
       because("adjust limit = 2 mg"),
       {"1:16 R0222 `2 mg` is a mass; `limit` is a volume"}},
      {"AdjustAnotherKind",
       because("adjust limit = yes"),
       {"1:16 R0225 `yes` is no value for `limit`"}},
      {"AdjustAnUnsetOne", because("adjust open = 2 mL"), {}},
      {"AdjustToTheSame",
       because("adjust limit = 1.50 mL"),
       {"1:16 R0515 `limit` is `1.5 mL` already"}},
      {"AdjustTwice",
       because("adjust limit = 2 mL") + because("adjust limit = 2.5 mL"),
       {"2:8 R0514 `adjust limit = 2 mL` is in force already"}},
      {"AdjustAgainAfterTheFirstEnded",
       because("adjust limit = 2 mL", "2026-03-01") + because("adjust limit = 2.5 mL"),
       {"1:62 R0512 this local change ended on 2026-03-01 and changes nothing any more"}},
      // regrade
      {"RegradeUnknown",
       because("regrade mildd from caution to note"),
       {"1:9 R0212 no rule is named `mildd`"}},
      {"RegradeUnknownGrade",
       because("regrade mild from caution to notes"),
       {"1:30 R0211 no grade is named `notes`"}},
      {"RegradeAGradeItDoesNotRaise",
       because("regrade mild from clarify to note"),
       {"1:19 R0516 rule `mild` raises no `clarify`"}},
      {"RegradeToTheSame",
       because("regrade mild from note to note"),
       {"1:9 R0515 both grades are the same"}},
      {"RegradeAHold",
       because("regrade grave from hold to clarify"),
       {"1:20 R0513 a `hold` would become milder"}},
      {"RegradeAHoldWithLeave", because("regrade grave from hold to clarify"), {}, true},
      {"RegradeTwice",
       because("regrade mild from note to caution") + because("regrade mild from note to clarify"),
       {"2:9 R0514 `regrade mild from note to caution` is in force already"}},
      {"RegradeTwoGrades",
       because("regrade mild from note to caution") + because("regrade mild from caution to note"),
       {}},
      // mute
      {"MuteUnknown", because("mute mildd"), {"1:6 R0212 no rule is named `mildd`"}},
      {"MuteWithAMistakeInItsScope",
       because("mute mild where volum > 1 mL"),
       {"1:17 R0201 nothing is named `volum`"}},
      {"MuteOnlyHolds",
       because("mute strict"),
       {"1:6 R0515 rule `strict` raises only `hold`, which is not muted without "
        "`--allow-mute-hold`"}},
      {"MuteOnlyHoldsWithLeave", because("mute strict"), {}, true},
      {"MuteARetiredOne",
       because("retire mild") + because("mute mild"),
       {"2:6 R0515 rule `mild` is retired"}},
      // retire
      {"RetireUnknown", because("retire mildd"), {"1:8 R0212 no rule is named `mildd`"}},
      {"RetireAHold", because("retire grave"), {"1:8 R0513 rule `grave` raises a `hold`"}},
      {"RetireAHoldWithLeave", because("retire grave"), {}, true},
      {"RetireTwice",
       because("retire mild") + because("retire mild"),
       {"2:8 R0514 `retire mild` is in force already"}},
      // extend table
      {"ExtendUnknown",
       "extend table product from \"ours.csv\" because \"p\" by \"n\"\n",
       {"1:14 R0207 no table is named `product`"}},
      {"ExtendFromNoFile",
       "extend table products from \"none.csv\" because \"p\" by \"n\"\n",
       {"1:28 R0301 cannot read `none.csv`: no such file"}},
      {"ExtendWithNothing",
       "extend table products from \"empty.csv\" because \"p\" by \"n\"\n",
       {"1:28 R0515 `empty.csv` has no rows"}},
      {"ExtendWithARowThatIsThere",
       "extend table products from \"same.csv\" because \"p\" by \"n\"\n",
       {"3:1 R0306 row 3 has the same key as row 3 of `products.csv`: n"}},
      {"ExtendWithARowTwice",
       "extend table products from \"twice.csv\" because \"p\" by \"n\"\n",
       {"3:1 R0306 rows 2 and 3 have the same key: o"}},
      {"ExtendWithAnotherColumn",
       "extend table products from \"other-head.csv\" because \"p\" by \"n\"\n",
       {"1:1 R0517 table `products` has no column `mots`", "1:1 R0517 column `most` is missing"}},
      {"ExtendWithAnotherKind",
       "extend table products from \"other-kind.csv\" because \"p\" by \"n\"\n",
       {"1:1 R0517 column `most` is of another kind in table `products`"}},
      {"ExtendWithACellThatCannotBeRead",
       "extend table products from \"broken.csv\" because \"p\" by \"n\"\n",
       {"2:3 R0304 row 2, column `most`: `1 mg` is a mass; a volume is needed"}},
      // days
      {"TooFarAway",
       because("retire mild", "2027-04-07"),
       {"1:54 R0511 the end is more than 400 days after 2026-03-02"}},
      {"AsFarAwayAsCanBe", because("retire mild", "2027-04-06"), {}},
      {"Ended",
       because("mute nobody-knows where volum > 1 mL", "2026-03-01"),
       {"1:79 R0512 this local change ended on 2026-03-01 and changes nothing any more"}},
      {"LastDay", because("retire mild", "2026-03-02"), {}},
      {"NoDate",
       because("retire mild", "2026-02-30"),
       {"1:54 R0424 `2026-02-30` is not a date: the month has no such day"}},
      // places
      {"OwnRule",
       "rule own \"t\"\n    raise note when volume > 1 mL say \"x\" blames volume\n" +
           because("mute own"),
       {"3:6 R0510 this rule is your own: it stands in the same file"}},
      // trials
      {"TrialMuted",
       "trial rule idea until 2026-12-31 \"t\"\n    raise note when volume > 1 mL say \"x\" blames "
       "volume\n" +
           because("mute mild"),
       {}},
      {"TrialTooLong",
       "trial rule idea until 2027-12-31 \"t\"\n    raise note when volume > 1 mL say \"x\" blames "
       "volume\n",
       {"1:23 R0511 the end is more than 400 days after 2026-03-02"}},
      {"TrialEnded",
       "trial rule idea until 2026-03-01 \"t\"\n    raise note when volum > 1 mL say \"x\" blames "
       "volume\n",
       {"1:23 R0512 this trial ended on 2026-03-01 and changes nothing any more"}},
  };
  return kCases;
}

class LocalChanges : public ::testing::TestWithParam<Case> {};

TEST_P(LocalChanges, AreAnsweredInTheirPlace) {
  EXPECT_THAT(lines_of(compile_local(GetParam().local, GetParam().allow)),
              ElementsAreArray(GetParam().diagnostics));
}
INSTANTIATE_TEST_SUITE_P(Text, LocalChanges, ::testing::ValuesIn(cases()),
                         [](const auto& info) { return info.param.name; });

TEST(LocalChange, WithinTheShippedSetIsAnError) {
  CompileOptions options = options_with(kTables);
  options.rules_day = kDay;
  const Compiled compiled = compile(
      {{"shipped.rule", kShipped, true}, {"more.rule", because("mute mild"), true}}, options);
  EXPECT_THAT(lines_of(compiled),
              ElementsAre("1:1 R0510 a local change stands in the shipped rules"));
}

TEST(LocalChange, EveryCodeIsTested) {
  std::string all = "R0501 R0502 R0503 R0504 R0505";  // versions_test.cpp
  for (const Case& c : cases()) {
    for (const std::string& line : c.diagnostics)
      all += line;
  }
  for (const CodeInfo& code : all_codes()) {
    if (!code.name.starts_with("R05")) continue;
    EXPECT_NE(all.find(code.name), std::string::npos) << code.name << " has no case";
  }
}

TEST(LocalChange, AMistakeSaysWhereTheOtherPlaceIs) {
  const Compiled two =
      compile_local(because("adjust limit = 2 mL") + because("adjust limit = 3 mL"));
  ASSERT_EQ(two.diagnostics.size(), 1U);
  EXPECT_EQ(two.diagnostics[0].help, "keep one of the two; the other one stands in local.rule:1");
  const Compiled range = compile_local(because("adjust limit = 4 mL"));
  ASSERT_EQ(range.diagnostics.size(), 1U);
  EXPECT_EQ(range.diagnostics[0].help, "the setting stands in shipped.rule:1");
  const Compiled unknown = compile_local(because("mute mildd"));
  ASSERT_EQ(unknown.diagnostics.size(), 1U);
  EXPECT_EQ(unknown.diagnostics[0].help, "did you mean `mild`");
}

const engine::Rule& rule_named(const engine::Program& program, std::string_view name) {
  for (const engine::Rule& rule : program.rules) {
    if (rule.name == name) return rule;
  }
  throw std::runtime_error("no such rule");
}

TEST(Adjust, GivesTheSettingItsValueUntilItsLastDay) {
  const std::string local = because("adjust limit = 2 mL", "2026-03-02");
  EXPECT_EQ(compile_local(local, false, kDay - 1).program->settings[0].value.text, "2 mL");
  EXPECT_EQ(compile_local(local, false, kDay).program->settings[0].value.text, "2 mL");
  const Compiled after = compile_local(local, false, kDay + 1);
  ASSERT_NE(after.program, nullptr);
  EXPECT_EQ(after.program->settings[0].value.text, "1.5 mL");
  EXPECT_TRUE(after.program->changes.at(0).over);
}

TEST(Regrade, TakesEveryPartOfThatGradeOnceAndFromTheShippedOne) {
  const Compiled compiled = compile_local(because("regrade mild from note to caution") +
                                          because("regrade mild from caution to clarify"));
  ASSERT_NE(compiled.program, nullptr);
  const engine::Rule& mild = rule_named(*compiled.program, "mild");
  EXPECT_EQ(mild.clauses[0].grade, engine::Grade::Clarify);
  EXPECT_EQ(mild.clauses[1].grade, engine::Grade::Caution);
}

TEST(Retire, LeavesTheProgramWithoutTheRuleAndItsName) {
  const Compiled compiled = compile_local(because("retire table-rule"));
  ASSERT_NE(compiled.program, nullptr);
  EXPECT_EQ(compiled.program->rules.size(), 3U);
  EXPECT_TRUE(compiled.program->lookups.empty());
  ASSERT_EQ(compiled.program->aside.size(), 1U);
  EXPECT_EQ(compiled.program->aside[0].name, "table-rule");
}

TEST(Extend, AddsRowsByTheNamesOfTheirColumns) {
  const Compiled compiled =
      compile_local("extend table products from \"ours.csv\" because \"p\" by \"n\"\n");
  ASSERT_NE(compiled.program, nullptr);
  const engine::Table& table = compiled.program->tables.at(0);
  ASSERT_EQ(table.rows(), 4U);
  EXPECT_EQ(table.cell(2, 0).text, "o");
  EXPECT_EQ(table.cell(2, 1).text, "3 mL");
  EXPECT_EQ(table.cell(2, 2).text, "ours");
  EXPECT_EQ(compiled.program->changes.at(0).what,
            "extend table products from \"ours.csv\" (2 rows)");
}

TEST(Mute, OfARuleWithAHoldSaysThatTheHoldStays) {
  const std::string local = because("mute grave where volume\n    < 9 mL");
  const Compiled compiled = compile_local(local);
  ASSERT_NE(compiled.program, nullptr);
  EXPECT_EQ(compiled.program->changes.at(0).what, "mute grave where volume < 9 mL");
  EXPECT_EQ(compiled.program->changes.at(0).note,
            "its findings of hold are still shown, without --allow-mute-hold");
  EXPECT_EQ(compile_local(local, true).program->changes.at(0).note, "");
}

TEST(Hash, CoversLocalChangesTheirTablesTheirEndAndTheLeave) {
  const std::string local = because("mute grave", "2026-03-02");
  const std::string none = compile_local("").program->hash;
  const std::string muted = compile_local(local).program->hash;
  EXPECT_NE(muted, none);
  EXPECT_EQ(muted, compile_local(local, false, kDay - 1).program->hash);
  EXPECT_NE(muted, compile_local(local, false, kDay + 1).program->hash);
  EXPECT_NE(muted, compile_local(local, true).program->hash);
  EXPECT_EQ(none, compile_local("", true).program->hash);
  const std::string extend = "extend table products from \"ours.csv\" because \"p\" by \"n\"\n";
  CompileOptions options = options_with({{"products.csv", kTables.at("products.csv")},
                                         {"ours.csv", "code,most [volume],note [text]\nq,,\n"}});
  options.rules_day = kDay;
  const Compiled other =
      compile({{"local.rule", extend}, {"shipped.rule", kShipped, true}}, options);
  ASSERT_NE(other.program, nullptr);
  EXPECT_NE(compile_local(extend).program->hash, other.program->hash);
}

TEST(NotApplied, ChangesAreCheckedAndLeaveTheRulesAsShipped) {
  CompileOptions options = options_with(kTables);
  options.rules_day = kDay;
  options.apply_changes = false;
  const std::string local = because("adjust limit = 2 mL") + because("retire mild");
  const Compiled compiled =
      compile({{"local.rule", local}, {"shipped.rule", kShipped, true}}, options);
  ASSERT_NE(compiled.program, nullptr);
  EXPECT_EQ(compiled.program->settings[0].value.text, "1.5 mL");
  EXPECT_EQ(compiled.program->rules.size(), 4U);
}

}  // namespace
}  // namespace meniscus::grammar::testing
