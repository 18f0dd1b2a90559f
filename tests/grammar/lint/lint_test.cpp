// What is worth a second look: what is said, at which place, and what is left alone.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/grammar/lower/rule_text.hpp"

namespace meniscus::grammar::testing {
namespace {

const Tables kTables = {
    {"words.csv", "field,word,synonyms [text]\nside,left,L\nside,right,R\nside,middle,\n"},
    {"sites.csv",
     "site,parent,region,synonyms [text]\narm,,arm,\ndeltoid,arm,arm,\nabdomen,,trunk,\n"},
    {"substances.csv",
     "code,synonyms [text]\ninsulin,\ninsulin-nph,NPH\ninsulin-glargine,\nheparin,\n"
     "leuprolide,\nleuprolide-depot,\n"},
    {"limits.csv",
     "side,ages [time band],most [volume],note [text]\n"
     "left,0 days to 12 years,1 mL,x\nleft,18 years to any,2 mL,\nright,any,3 mL,\n"}};

struct Case {
  std::string name;
  std::string text;
  std::vector<std::string> said;
};
std::ostream& operator<<(std::ostream& out, const Case& c) { return out << c.name; }

/// A rule that lacks nothing; `body` starts in line 4.
std::string rule(const std::string& body, const std::string& concerns = "all orders") {
  return "table words from \"words.csv\"\ntable sites from \"sites.csv\"\n"
         "rule r \"t\" concerns " +
         concerns + "\n" + body +
         "    cite \"c\" owner \"o\" reviewed 2026-01-01 review by 2027-01-01\n"
         "example \"e\" order volume = 1 mL expect nothing from r\n";
}

/// A clause whose condition starts in line 4, column 17.
std::string clause(const std::string& condition) {
  return "    raise note when " + condition + " say \"{volume}\" blames volume\n";
}
std::string when(const std::string& condition) { return rule(clause(condition)); }

/// As many more rules that ignore the absence of the volume.
std::string others(int count) {
  std::string text;
  for (int i = 0; i < count; ++i) {
    const std::string name = "other-" + std::to_string(i);
    text += "rule " + name + " \"t\"\n" + clause("volume > " + std::to_string(5 + i) + " mL") +
            "    without volume ignore\n"
            "    cite \"c\" owner \"o\" reviewed 2026-01-01 review by 2027-01-01\n"
            "example \"e\" order volume = 1 mL expect nothing from " +
            name + "\n";
  }
  return text;
}

std::vector<std::string> linted(const std::string& text) {
  CompileOptions options = options_with(kTables);
  options.lint = true;
  options.rules_day = 20782;  // 2026-11-25
  return lines_of(compile({{"test.rule", text}}, options));
}

/// Sides of an `or`, and `and` beside it.
const std::vector<Case>& sides() {
  static const std::vector<Case> kCases = {
      {"NeitherIsMeant",
       when("side is not left or side is not right"),
       {"4:21 R0601 `side is not left or side is not right` holds for every order that gives the "
        "value"}},
      {"NeitherOfThree",
       when("side is not left or dose > 1 mg or side is not right"),
       {"4:21 R0601 `side is not left or dose > 1 mg or side is not right` holds for every order "
        "that gives the value"}},
      {"EveryVolume",
       when("volume > 1 mL or volume < 2 mL"),
       {"4:21 R0601 `volume > 1 mL or volume < 2 mL` holds for every order that gives the value"}},
      {"NotTheSameOfTwo", when("side is not left or site is not abdomen"), {}},
      {"TheOthersOfTwo", when("side is not left or side is not left"), {}},
      {"NotEvenOne", when("side is not left and side is not right"), {}},
      // `and` beside `or`
      {"AndBesideOr",
       when("volume > 3 mL and dose > 1 mg or dose > 5 mg"),
       {"4:21 R0606 `and` is taken together before the `or` beside it"}},
      {"OrBesideAnd",
       when("dose > 5 mg or volume > 3 mL and dose > 1 mg"),
       {"4:36 R0606 `and` is taken together before the `or` beside it"}},
      {"AndBesideOrInBrackets", when("(volume > 3 mL and dose > 1 mg) or dose > 5 mg"), {}},
      {"OrInBracketsBesideAnd", when("volume > 3 mL and (dose > 1 mg or dose > 5 mg)"), {}},
      {"BracketsAtBothEnds",
       when("(volume > 3 mL) and (dose > 1 mg) or dose > 5 mg"),
       {"4:21 R0606 `and` is taken together before the `or` beside it"}},
      {"BetweenHasAnAnd", when("volume between 1 mL and 2 mL or dose > 5 mg"), {}}};
  return kCases;
}

/// A code and the word of a group.
std::string of_codes(const std::string& condition) {
  return when(condition) + "table substances from \"substances.csv\"\n";
}

const std::vector<Case>& groups() {
  static const std::vector<Case> kCases = {
      {"WordOfAGroup",
       of_codes("volume > 1 mL and substance.code is insulin"),
       {"4:57 R0602 `insulin` stands for itself alone; it can never hold for `insulin-glargine` "
        "and others that begin so"}},
      {"WordOfAGroupAmongOthers",
       of_codes("volume > 1 mL and substance.code is not one of heparin, insulin"),
       {"4:77 R0602 `insulin` stands for itself alone; it can never hold for `insulin-glargine` "
        "and others that begin so"}},
      {"WordOfAGroupInADefinition",
       of_codes("volume > large") +
           "define large = (if substance.code is insulin then 1 mL otherwise 2 mL)\n",
       {"8:38 R0602 `insulin` stands for itself alone; it can never hold for `insulin-glargine` "
        "and others that begin so"}},
      {"MemberOfAGroup", of_codes("volume > 1 mL and substance.code is insulin-nph"), {}},
      {"OneOtherThatBeginsSo", of_codes("volume > 1 mL and substance.code is leuprolide"), {}},
      {"NoGroup", of_codes("volume > 1 mL and substance.code is heparin"), {}}};
  return kCases;
}

const std::vector<Case>& cases() {
  static const std::vector<Case> kCases = {
      {"Nothing", when("volume > 3 mL"), {}},
      // ranges
      {"TwoRanges",
       when("volume > 3 mL and volume < 2 mL"),
       {"4:39 R0602 `volume < 2 mL` can never hold here beside `volume > 3 mL`"}},
      {"TouchingRanges",
       when("volume > 3 mL and volume <= 3 mL"),
       {"4:39 R0602 `volume <= 3 mL` can never hold here beside `volume > 3 mL`"}},
      {"OnePointIsLeft", when("volume >= 3 mL and volume <= 3 mL"), {}},
      {"UnitsDoNotMatter",
       when("patient.age > 3 years and patient.age < 20 days"),
       {"4:47 R0602 `patient.age < 20 days` can never hold here beside `patient.age > 3 years`"}},
      {"LimitOnTheLeft",
       when("volume > 3 mL and 2 mL > volume"),
       {"4:39 R0602 `2 mL > volume` can never hold here beside `volume > 3 mL`"}},
      {"WithItself",
       when("volume > volume"),
       {"4:21 R0602 `volume > volume` compares a value with itself"}},
      {"WithItselfInHistory",
       rule("    let here = latest earlier injection where site is site\n" +
            clause("days since here.when < 7 days")),
       {"4:47 R0601 `site is site` compares a value with itself"}},
      {"EitherIsMeant", when("volume > 3 mL or volume < 2 mL"), {}},
      {"OneSideOfAnOr",
       when("volume > 3 mL and (volume < 2 mL or dose > 1 mg)"),
       {"4:40 R0602 `volume < 2 mL` can never hold here beside `volume > 3 mL`"}},
      {"NotOfARange",
       when("not volume > 3 mL and volume > 4 mL"),
       {"4:43 R0602 `volume > 4 mL` can never hold here beside `volume > 3 mL`"}},
      {"Always",
       when("volume >= 0 mL"),
       {"4:21 R0601 `volume >= 0 mL` holds for every order that gives the value"}},
      {"BelowZero",
       when("volume < 0 mL"),
       {"4:21 R0602 `volume < 0 mL` can never hold: no order has such a value"}},
      {"DaysMayBeBelowZero", when("days since schedule.start < 0 days"), {}},
      {"EndsSwapped",
       when("volume between 3 mL and 2 mL"),
       {"4:21 R0602 `volume between 3 mL and 2 mL` can never hold: no order has such a value"}},
      {"KindsOfDose", when("dose > 3 mg or dose < 2 units"), {}},
      {"Gauges",
       when("needle.gauge thinner than 25 G and needle.gauge wider than 23 G"),
       {"4:56 R0602 `needle.gauge wider than 23 G` can never hold here beside `needle.gauge "
        "thinner "
        "than 25 G`"}},
      // words
      {"TwoWords",
       when("side is left and side is right"),
       {"4:38 R0602 `side is right` can never hold here beside `side is left`"}},
      {"AllWords",
       when("side is not left and side is not right and side is not middle"),
       {"4:64 R0602 `side is not middle` can never hold here beside `side is not right`"}},
      {"SiteOutsideOfItsRegion",
       when("site is in arm and site is abdomen"),
       {"4:40 R0602 `site is abdomen` can never hold here beside `site is in arm`"}},
      {"SiteInsideOfItsRegion", when("site is in arm and site is deltoid"), {}},
      {"YesAndNo",
       when("self-injected is yes and self-injected is no"),
       {"4:46 R0602 `self-injected is no` can never hold here beside `self-injected is yes`"}},
      // absence
      {"MissingAndCompared",
       when("volume is missing and volume > 1 mL"),
       {"4:43 R0602 `volume > 1 mL` can never hold here beside `volume is missing`"}},
      {"GivenWithoutAWord",
       when("volume is given and volume > 1 mL"),
       {"4:21 R0604 where `volume` is missing, this clause says nothing"}},
      {"GivenWithAWord",
       rule(clause("volume is given and volume > 1 mL") +
            "    without volume raise note say \"No volume.\"\n"),
       {}},
      {"StandIn",
       when("(patient.weight or else 70 kg) > 80 kg"),
       {"4:21 R0604 where `patient.weight` is missing, another value stands in for it"}},
      {"IgnoredByTwo",
       rule(clause("volume > 1 mL") + "    without volume ignore\n") + others(1),
       {}},
      {"IgnoredByThree",
       rule(clause("volume > 1 mL") + "    without volume ignore\n") + others(2),
       {"5:13 R0605 every rule that reads `volume` ignores its absence"}},
      // concerns
      {"NotConcerned",
       rule(clause("side is right"), "orders where side is left"),
       {"4:21 R0602 `side is right` can never hold here beside `side is left`"}},
      {"AskedByConcerns",
       rule(clause("side is left and volume > 1 mL"), "orders where side is left"),
       {"4:21 R0601 `side is left` holds for every order that `concerns` lets through"}},
      // bands
      {"Gap",
       "table limits from \"limits.csv\"\n" +
           rule(
               "    let most = look up most in limits where row.side is side and row.ages includes "
               "patient.age\n" +
               clause("volume > most")),
       {"3:6 R0612 between row 2 (0 days to 12 years) and row 3 (18 years to any) there is a gap"}},
      // text
      {"NoValueShown",
       rule("    raise note when volume > 3 mL say \"Much.\" blames volume\n"),
       {"4:39 R0625 this sentence shows no value of the order"}},
      {"NoValueToShow", rule("    raise note when side is left say \"Left.\" blames side\n"), {}},
      {"OverdueAndNobodyAnswers",
       "rule r \"t\"\n    raise note when volume > 3 mL say \"{volume}\" blames volume\n"
       "    reviewed 2025-01-01 review by 2026-11-24\n",
       {"1:6 R0621 rule `r` names no source", "1:6 R0622 nobody answers for rule `r`",
        "1:6 R0624 no example tests rule `r`",
        "3:25 R0626 the review of rule `r` was due by 2026-11-24"}},
      // use
      {"UnusedSetting",
       "setting a = 1 mL \"t\"\n" + when("volume > 3 mL"),
       {"1:9 R0613 nothing reads the setting `a`"}},
      {"SettingOfAText",
       "setting a = 1 mL \"t\"\n" +
           rule("    raise note when volume > 3 mL say \"{a}\" blames volume\n"),
       {}},
  };
  return kCases;
}

class Lint : public ::testing::TestWithParam<Case> {};

TEST_P(Lint, SaysWhatIsWorthASecondLook) {
  EXPECT_THAT(linted(GetParam().text), ::testing::ElementsAreArray(GetParam().said));
}

INSTANTIATE_TEST_SUITE_P(Rules, Lint, ::testing::ValuesIn(cases()),
                         [](const auto& row) { return row.param.name; });
INSTANTIATE_TEST_SUITE_P(Sides, Lint, ::testing::ValuesIn(sides()),
                         [](const auto& row) { return row.param.name; });
INSTANTIATE_TEST_SUITE_P(Groups, Lint, ::testing::ValuesIn(groups()),
                         [](const auto& row) { return row.param.name; });

TEST(Lint, IsSilentUnlessItIsAskedFor) {
  EXPECT_TRUE(lines_of(compile_text(when("volume >= 0 mL"), kTables)).empty());
}

TEST(Lint, SaysNothingBesideMistakes) {
  EXPECT_THAT(linted(when("volume >= 0 mL and volum > 1 mL")),
              ::testing::ElementsAre("4:40 R0201 nothing is named `volum`"));
}

TEST(Lint, TestsElsewhereCount) {
  const std::string text =
      "rule r \"t\"\n    raise note when volume > 3 mL say \"{volume}\" blames volume\n"
      "    cite \"c\" owner \"o\" reviewed 2026-01-01 review by 2027-01-01\n";
  CompileOptions options = options_with({});
  options.lint = true;
  EXPECT_THAT(lines_of(compile({{"test.rule", text}}, options)),
              ::testing::ElementsAre("1:6 R0624 no example tests rule `r`"));
  options.tested = {"r"};
  EXPECT_TRUE(lines_of(compile({{"test.rule", text}}, options)).empty());
}

/// Clauses, one a line from line 4; the last one is said to be out of reach, or not.
struct Reach {
  std::string name;
  std::vector<std::string> conditions;
  std::string settings;
  std::string said;
};
std::ostream& operator<<(std::ostream& out, const Reach& c) { return out << c.name; }

const Reach kReaches[] = {
    {"InsideOfARange", {"volume > 1 mL", "volume between 2 mL and 3 mL"}, "", "R0420"},
    {"OverItsEnd", {"volume > 2 mL", "volume between 2 mL and 3 mL"}, "", ""},
    {"TwoClausesTogether",
     {"volume > 2 mL", "volume between 1 mL and 2 mL", "volume > 1 mL"},
     "",
     "R0420"},
    {"APointIsLeft", {"volume > 2 mL", "volume between 1 mL and 2 mL", "volume >= 0.5 mL"}, "", ""},
    {"AWordOfTheList", {"side is one of left, right", "side is left and dose > 1 mg"}, "", "R0420"},
    {"AnotherWord", {"side is one of left, right", "side is middle"}, "", ""},
    {"AnotherField", {"volume > 1 mL and dose > 1 mg", "volume > 2 mL"}, "", ""},
    {"AnotherKind", {"dose > 1 mg", "dose > 2 units"}, "", ""},
    {"WhatIsMissingDoesNotHold", {"volume > 1 mL or dose >= 0 mg", "marks > 3 marks"}, "", ""},
    {"Settings",
     {"volume > a", "volume > b"},
     "setting a = 1 mL \"a\"\nsetting b = 2 mL \"b\"\n",
     "R0603"},
    {"SettingsInOrder",
     {"volume > b", "volume > a"},
     "setting a = 1 mL \"a\"\nsetting b = 2 mL \"b\"\n",
     ""},
};

class Reached : public ::testing::TestWithParam<Reach> {};

TEST_P(Reached, IsDecidedByRanges) {
  std::string body;
  for (const std::string& condition : GetParam().conditions)
    body += clause(condition);
  std::vector<std::string> codes;
  for (const std::string& line : linted(GetParam().settings + rule(body))) {
    const std::string code = line.substr(line.find(' ') + 1, 5);
    if (code != "R0601") codes.push_back(code);
  }
  const std::vector<std::string> wanted =
      GetParam().said.empty() ? std::vector<std::string>{} : std::vector{GetParam().said};
  EXPECT_EQ(codes, wanted);
}

INSTANTIATE_TEST_SUITE_P(Clauses, Reached, ::testing::ValuesIn(kReaches),
                         [](const auto& row) { return row.param.name; });

}  // namespace
}  // namespace meniscus::grammar::testing
