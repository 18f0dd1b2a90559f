// Every mistake that names, types and dimensions can have: its code, its place, what it says.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "grammar/diagnostics.hpp"
#include "tests/grammar/lower/rule_text.hpp"

namespace meniscus::grammar::testing {
namespace {

struct Case {
  std::string name;
  std::string text;
  std::vector<std::string> diagnostics;
};
std::ostream& operator<<(std::ostream& out, const Case& c) { return out << c.name; }

const Tables kTables = {
    {"products.csv",
     "code,strength [strength],vehicle,in-use [time],ages [time band],note [text],latex [yes/no]\n"
     "m,25 mg/mL,water,28 days,any,keep cool,no\n"
     "n,50 mg/mL,sesame-oil,7 days,18 years to any,,yes\n"},
    {"words.csv", "field,word,synonyms [text]\nside,left,L\nside,right,R\nvial.kind,ampoule,\n"},
    {"sites.csv", "site,parent,synonyms [text]\nabdomen,trunk,belly\ndeltoid,upper-arm,\n"}};

std::string with_tables(const std::string& rule) {
  return "table products from \"products.csv\"\ntable words from \"words.csv\"\n"
         "table sites from \"sites.csv\"\n" +
         rule;
}

/// The condition then stands in line 6.
Case when(std::string name, const std::string& condition, std::vector<std::string> diagnostics) {
  return {std::move(name), with_tables(rule_when(condition)), std::move(diagnostics)};
}

std::string rule(const std::string& body) {
  return "rule r \"t\"\n    concerns all orders\n" + body;
}

const std::vector<Case>& cases() {
  static const std::vector<Case> kCases = {
      // names
      when("UnknownName", "volum > 5 mL", {"6:21 R0201 nothing is named `volum`"}),
      when("UnknownDottedName", "vial.volum > 5 mL", {"6:21 R0201 nothing is named `vial.volum`"}),
      when("UnknownOnBothSides", "foo is bar", {"6:21 R0201 nothing is named `foo`"}),
      {"SettingTwice",
       "setting a = 1 \"x\"\nsetting a = 2 \"y\"\n",
       {"2:9 R0202 setting `a` stands for two things"}},
      {"RuleTwice",
       rule_when("volume > 5 mL") + rule_when("volume > 6 mL"),
       {"6:6 R0202 rule `r` stands for two things"}},
      {"LetTwice",
       rule("    let a = 1 mL\n    let a = 2 mL\n    raise hold when volume > a\n"
            "        say \"x\"\n        blames volume\n"),
       {"4:9 R0202 let `a` stands for two things"}},
      {"LetHidesField",
       rule("    let volume = 1 mL\n    raise hold when draw-needle.length > 1 mm\n"
            "        say \"x\"\n        blames volume\n"),
       {"3:9 R0203 `volume` is a field of the order already"}},
      {"DefineHidesSetting",
       "setting a = 1 \"x\"\ndefine a = 2\n",
       {"2:8 R0203 `a` is a setting already"}},
      {"LetNeedsItself",
       rule("    let a = b\n    let b = a\n    raise hold when volume > a\n"
            "        say \"x\"\n        blames volume\n"),
       {"4:13 R0204 `a` needs itself to be worked out"}},
      {"DefineNeedsItself",
       "define a = a + 1 mL\n",
       {"1:12 R0204 `a` needs itself to be worked out"}},
      {"CodeAndName",
       with_tables(rule("    let left = look up code in products where row.vehicle is water\n"
                        "    raise hold when side is left\n        say \"x\"\n"
                        "        blames side\n")),
       {"7:29 R0205 `left` is both a code and a name here"}},
      when("UnknownWord", "side is lefft", {"6:29 R0206 `side` knows no word `lefft`"}),
      when("UnknownKind", "kind of dose is by-weight",
           {"6:37 R0206 `kind of` knows no word `by-weight`"}),
      when("UnknownTable", "(any row of product where row.code is substance.code)",
           {"6:33 R0207 no table is named `product`"}),
      when("UnknownColumn", "(any row of products where row.cod is substance.code)",
           {"6:52 R0208 table `products` has no column `cod`"}),
      when("UnknownResultColumn",
           "(look up inuse in products where row.code is substance.code) > 3 days",
           {"6:30 R0208 table `products` has no column `inuse`"}),
      {"UnknownBlame",
       rule("    raise hold when volume > 1 mL\n        say \"x\"\n        blames volum\n"),
       {"5:16 R0209 no field is named `volum`"}},
      when("UnknownPart", "(any of components where each.site is abdomen)",
           {"6:46 R0209 the items of `components` have no part `site`"}),
      when("RowOutsideLookUp", "row.code is m",
           {"6:21 R0210 `row.code` means something only in the `where` of a look-up"}),
      when("EarlierOutsideQuery", "earlier.dose > 5 mg",
           {"6:21 R0210 `earlier.dose` means something only in the `where` of a query over "
            "earlier injections or orders"}),
      {"UnknownGrade",
       rule("    raise holdd when volume > 1 mL\n        say \"x\"\n        blames volume\n"),
       {"3:11 R0211 no grade is named `holdd`"}},
      {"UnknownRule",
       rule_when("volume > 1 mL") +
           "example \"e\"\n    order volume = 2 mL\n    expect hold from rr\n",
       {"8:22 R0212 no rule is named `rr`"}},
      // types and dimensions
      when("VolumeAndMass", "volume > 5 mg", {"6:28 R0220 cannot compare volume with mass"}),
      when("DoseAndTime", "dose > 5 s", {"6:26 R0220 cannot compare amount of medicine with time"}),
      // Of an order a strength is an amount in a volume, never a bare share.
      when("StrengthAndShare", "strength is 20 %",
           {"6:30 R0220 cannot compare strength with number"}),
      when("StrengthAndNumber", "strength > 2", {"6:30 R0220 cannot compare strength with number"}),
      when("BodyMassAndVolume", "patient.weight > 5 mL",
           {"6:36 R0220 cannot compare body mass with volume"}),
      when("SumOfUnlike", "volume + 5 mg > 1 mL", {"6:28 R0221 cannot add volume with mass"}),
      when("KindOfTime", "kind of schedule.every is by-mass",
           {"6:29 R0222 a time stands where an amount is needed"}),
      when("ShareWithoutASign", "volume differs from dose / strength by more than 5",
           {"6:70 R0222 a number stands where a share or a volume is needed"}),
      when("BareWord", "side is left or right",
           {"6:37 R0223 the word `right` alone is no condition"}),
      when("YesNoAlone", "self-injected",
           {"6:21 R0223 yes or no stands where a condition is needed"}),
      when("ConditionAsValue", "(volume > 1 mL) > 2 mL",
           {"6:21 R0224 a condition stands where a quantity is needed"}),
      when("DateAsQuantity", "schedule.start > 5 mL",
           {"6:21 R0225 a date stands where a quantity is needed"}),
      when("GaugeBySign", "needle.gauge > 21 G", {"6:34 R0226 a sign says nothing about a gauge"}),
      when("DateMinusDate", "schedule.end - schedule.start > 3 days",
           {"6:34 R0227 dates are not taken from one another"}),
      when("GaugeAndNumber", "needle.gauge is 21",
           {"6:34 R0228 cannot compare a gauge with a number"}),
      when("WordAndText", "substance.code is substance.name",
           {"6:36 R0228 cannot compare a word with a text"}),
      {"DateThatIsNone",
       "setting a = 2026-02-30 \"x\"\n",
       {"1:13 R0229 `2026-02-30` is not a date: the month has no such day"}},
      when("BadPattern", "substance.name matches \"(\"",
           {"6:44 R0230 the pattern cannot be read: a bracket is open"}),
      when("UnlikeBranches", "(volume or else route) > 1 mL",
           {"6:29 R0231 one branch is a volume, the other a word"}),
      when("ListCompared", "patient.allergies is sesame",
           {"6:39 R0232 cannot compare a list with a text"}),
      {"RecordShown",
       rule("    let before = latest earlier injection\n    raise hold when before is given\n"
            "        say \"{before}\"\n        blames volume\n"),
       {"5:15 R0233 an earlier or active order cannot be shown in a text"}},
      when("NoRowHasTheWord", "(any row of products where row.vehicle is watr)",
           {"6:63 R0234 no row of `products` has `watr` in `vehicle`"}),
      // parts of a rule
      {"NeverReached",
       rule("    raise hold when volume > 1 mL\n        say \"x\"\n        blames volume\n"
            "    raise note when volume > 2 mL\n        say \"y\"\n        blames volume\n"),
       {"6:21 R0420 this clause can never be reached: the one in line 3 holds whenever it does"}},
      {"NothingReadsIt",
       rule("    raise hold when volume > 1 mL\n        say \"x\"\n        blames volume\n"
            "    without site ignore\n"),
       {"6:13 R0421 no condition of this rule reads `site`"}},
      {"SilentAbsence",
       "rule r \"t\"\n    concerns orders where dose-high is given\n"
       "    raise hold when dose-high > dose\n        say \"x\"\n        blames dose\n",
       {"2:27 R0422 orders without `dose-high` are passed over in silence"}},
      {"ReviewBeforeReview",
       rule_when("volume > 1 mL") + "    cite \"c\" owner \"o\" reviewed 2026-05-01 review by "
                                    "2026-04-01\n",
       {"6:54 R0423 the next review lies before the last one"}},
      {"ReviewDateThatIsNone",
       rule_when("volume > 1 mL") + "    cite \"c\" owner \"o\" reviewed 2026-02-30 review by "
                                    "2026-05-01\n",
       {"6:33 R0424 `2026-02-30` is not a date: the month has no such day"}},
      {"SettingTooLarge",
       "setting a = 5 mL between 1 mL and 3 mL \"x\"\n",
       {"1:13 R0425 `5 mL` is more than `3 mL`, the most that is allowed"}},
      {"LimitOfAnotherKind",
       "setting a = 2 mL between 1 mg and 3 mL \"x\"\n",
       {"1:26 R0426 the limit `1 mg` does not fit the setting, which is a volume"}},
  };
  return kCases;
}

class Mistakes : public ::testing::TestWithParam<Case> {};

TEST_P(Mistakes, AreNamedInTheirPlace) {
  EXPECT_THAT(lines_of(compile_text(GetParam().text, kTables)),
              ::testing::ElementsAreArray(GetParam().diagnostics));
}

INSTANTIATE_TEST_SUITE_P(Rules, Mistakes, ::testing::ValuesIn(cases()),
                         [](const auto& row) { return row.param.name; });

TEST(Mistakes, EveryCodeOfTheseRangesHasACase) {
  for (const CodeInfo& code : all_codes()) {
    const bool ours = code.name.starts_with("R02") || code.name.starts_with("R042");
    if (!ours) continue;
    const bool found = std::any_of(cases().begin(), cases().end(), [&](const Case& c) {
      return std::any_of(c.diagnostics.begin(), c.diagnostics.end(), [&](const std::string& d) {
        return d.find(std::string(code.name)) != std::string::npos;
      });
    });
    EXPECT_TRUE(found) << code.name << " has no case here";
  }
}

TEST(Mistakes, AllOfARuleAreReportedAtOnceAndInOrder) {
  const std::string text = rule(
      "    let limit = 5 mg\n"
      "    raise hold when volume > limit\n"
      "        say \"{volum} is too much\"\n"
      "        blames volumes\n"
      "    raise holdd when needle.gauge < 21 G\n"
      "        say \"x\"\n"
      "        blames needle.gauge\n");
  EXPECT_THAT(lines_of(compile_text(text)),
              ::testing::ElementsAre("4:28 R0220 cannot compare volume with mass",
                                     "5:15 R0201 nothing is named `volum`",
                                     "6:16 R0209 no field is named `volumes`",
                                     "7:11 R0211 no grade is named `holdd`",
                                     "7:35 R0226 a sign says nothing about a gauge"));
}

TEST(Mistakes, AnUnknownNameDoesNotCascade) {
  const std::string text = rule(
      "    let a = nowhere.at-all + 1 mL\n"
      "    let b = 2 * a\n"
      "    raise hold when b > volume and a < 3 mL\n"
      "        say \"{a} {b}\"\n"
      "        blames volume\n");
  EXPECT_EQ(lines_of(compile_text(text)).size(), 1U);
}

TEST(Mistakes, SuggestTheNearestName) {
  const Compiled compiled = compile_text(rule_when("volum > 5 mL"));
  ASSERT_EQ(compiled.diagnostics.size(), 1U);
  EXPECT_EQ(compiled.diagnostics[0].help, "did you mean `volume`");
}

TEST(Mistakes, SuggestAQuantityThatFits) {
  const Compiled compiled = compile_text(rule_when("volume > 5 mg"));
  ASSERT_EQ(compiled.diagnostics.size(), 1U);
  EXPECT_EQ(compiled.diagnostics[0].help,
            "write a volume, such as `5 mL`, or divide the right side by a strength");
}

TEST(Mistakes, RulesOfTheSameNameInTwoFilesNameBothPlaces) {
  const std::string text = rule_when("volume > 5 mL");
  const Compiled compiled = compile({{"a.rule", text}, {"b.rule", text}}, options_with({}));
  ASSERT_EQ(compiled.diagnostics.size(), 1U);
  EXPECT_EQ(compiled.diagnostics[0].source->name(), "b.rule");
  EXPECT_EQ(compiled.diagnostics[0].help, "the first one stands in a.rule:1");
}

TEST(Mistakes, StopAtTheLimitAndSayHowManyMore) {
  std::string body;
  for (int i = 0; i < 10; ++i) {
    body += "    raise hold when nothing" + std::to_string(i) +
            ".here > 1 mL\n        say \"x\"\n        blames volume\n";
  }
  CompileOptions options = options_with({});
  options.max_diagnostics = 4;
  const Compiled compiled = compile({{"a.rule", rule(body)}}, options);
  ASSERT_EQ(compiled.diagnostics.size(), 4U);
  EXPECT_EQ(compiled.diagnostics.back().code, "R0120");
  EXPECT_EQ(compiled.diagnostics.back().message, "7 more are not shown");
}

}  // namespace
}  // namespace meniscus::grammar::testing
