// What counts as a slip, case by case, with small rules and tables made for it: what is settled,
// what is only dodged, what is new, what is tried at all.  Every case runs over columns and one by
// one.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/rules_under_test.hpp"

namespace meniscus {
namespace {

using ::testing::Contains;
using ::testing::Each;
using ::testing::ElementsAre;
using testing::Fields;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;
using testing::RulesUnderTest;
using ::testing::StartsWith;

std::string rule(const std::string& name, const std::string& body,
                 const std::string& concerns = "all orders") {
  return "rule " + name + " \"t\"\n    concerns " + concerns + "\n" + body +
         "    cite \"common practice\" owner \"lead nurse\" reviewed 2026-05-01 review by "
         "2027-05-01\n";
}

const std::string kAgree = rule("agree",
                                "    raise hold when volume differs from dose / strength by more "
                                "than 10 % say \"x\" blames volume, dose, strength\n");
const Fields kWrongPoint = {{"dose", "50 mg"}, {"strength", "200 mg/mL"}, {"volume", "2.5 mL"}};

TEST(Slips, NameWhatSettlesTheFinding) {
  RulesUnderTest rules(kAgree);
  EXPECT_THAT(rules.one(kWrongPoint).slips,
              ElementsAre("volume: 2.5 mL -> 0.25 mL (agree)", "dose: 50 mg -> 500 mg (agree)",
                          "strength: 200 mg/mL -> 20 mg/mL (agree)"));
}

TEST(Slips, NoneForAnOrderThatNeedsNoQuestion) {
  RulesUnderTest rules(rule("mild",
                            "    raise caution when volume differs from dose / strength by more "
                            "than 10 % say \"x\" blames volume\n"));
  EXPECT_THAT(rules.one(kWrongPoint).slips, IsEmpty());
  EXPECT_EQ(rules.one(kWrongPoint).outcome, "caution");
}

TEST(Slips, NoOtherMedicineForAnAllergy) {
  const std::string tables =
      "table substances from \"substances.csv\"\ntable allergens from \"allergens.csv\"\n";
  const testing::Fields order = {{"substance.code", "alpha-one"}, {"patient.allergies", "alpha"}};
  const std::map<std::string, std::string> files = {
      {"substances.csv", "code,moiety\nalpha-one,alpha\nalpha-two,alpha\n"},
      {"allergens.csv", "allergy,ingredient\nalpha,alpha-one\n"}};
  RulesUnderTest plain(
      tables + rule("wrong",
                    "    raise hold when substance.code is alpha-one and (any row of substances "
                    "where row.code is substance.code) say \"x\" blames substance.code\n"),
      files);
  EXPECT_THAT(plain.one(order).slips,
              ElementsAre("substance.code: alpha-one -> alpha-two (wrong)"));
  RulesUnderTest allergy(
      tables + rule("allergy",
                    "    raise hold when (any row of allergens where any of patient.allergies is "
                    "row.allergy and row.ingredient is substance.code) say \"x\" blames "
                    "substance.code\n"),
      files);
  EXPECT_EQ(allergy.one(order).outcome, "hold");
  EXPECT_THAT(allergy.one(order).slips, IsEmpty());
}

TEST(Slips, CanBeSwitchedOff) {
  RulesUnderTest rules(kAgree);
  rules.options.slips = false;
  EXPECT_EQ(rules.one(kWrongPoint).outcome, "hold");
  EXPECT_THAT(rules.one(kWrongPoint).slips, IsEmpty());
}

TEST(Slips, NoneWhereNothingSettlesIt) {
  RulesUnderTest rules(
      rule("never", "    raise hold when volume > 0 mL say \"x\" blames volume\n"));
  EXPECT_THAT(rules.one(kWrongPoint).slips, IsEmpty());
}

// A rule that is not about the order any more has not been answered.
TEST(Slips, ARuleThatNoLongerAppliesIsNotSettled) {
  RulesUnderTest rules(rule("by-mouth-of-the-rule",
                            "    raise hold when volume > 1 mL say \"x\" blames volume\n",
                            "orders where dose >= 40 mg"));
  const Fields order = {{"dose", "50 mg"}, {"volume", "9 mL"}};
  EXPECT_THAT(rules.one(order).slips, Not(IsEmpty()));
  EXPECT_THAT(rules.one(order).slips, Each(StartsWith("volume")));
}

// A dose in units beside a strength in milligrams cannot be judged; that is no answer either.
TEST(Slips, ARuleThatCannotBeDecidedIsNotSettled) {
  RulesUnderTest rules(rule("kind", "    raise hold when dose > 100 mg say \"x\" blames dose\n"));
  const auto slips = rules.one({{"dose", "500 mg"}}).slips;
  EXPECT_THAT(slips, Contains("dose: 500 mg -> 50 mg (kind)"));
  EXPECT_THAT(slips, Each(Not(HasSubstr("units"))));
}

TEST(Slips, NothingNewMayAppear) {
  const std::string few =
      rule("few", "    raise caution when dose > 100 mg say \"x\" blames dose\n");
  const std::string weak =
      rule("weak", "    raise caution when strength < 50 mg/mL say \"x\" blames strength\n");
  RulesUnderTest rules(kAgree + few + weak);
  EXPECT_THAT(rules.one(kWrongPoint).slips, ElementsAre("volume: 2.5 mL -> 0.25 mL (agree)"));
}

TEST(Slips, NothingMayBeLeftUndecidedThatWasNot) {
  const std::string weight = rule(
      "site",
      "    raise caution when site is thigh and patient.weight < 20 kg say \"x\" blames site\n");
  const std::string side =
      rule("word",
           "    raise hold when site is not stated.site say \"x\" blames site\n"
           "    without site, stated.site ignore\n");
  RulesUnderTest rules("table sites from \"sites.csv\"\n" + weight + side,
                       {{"sites.csv", "site,parent\nabdomen,\nthigh,\n"}});
  const Fields order = {{"site", "abdomen"}, {"stated.site", "thigh"}};
  EXPECT_EQ(rules.one(order).outcome, "hold");
  EXPECT_THAT(rules.one(order).slips, IsEmpty());
  Fields known = order;
  known.emplace_back("patient.weight", "70 kg");
  EXPECT_THAT(rules.one(known).slips, ElementsAre("site: abdomen -> thigh (word)"));
}

TEST(Slips, ANoteMayAppearAndCountsAgainstTheRank) {
  const std::string note =
      rule("small", "    raise note when volume < 1 mL say \"x\" blames volume\n");
  RulesUnderTest rules(kAgree + note);
  EXPECT_THAT(rules.one(kWrongPoint).slips, ElementsAre("dose: 50 mg -> 500 mg (agree)",
                                                        "strength: 200 mg/mL -> 20 mg/mL (agree)",
                                                        "volume: 2.5 mL -> 0.25 mL (agree)"));
}

TEST(Slips, OneThatSettlesAllGroupsGoesBeforeThoseThatSettleOne) {
  const std::string fits =
      rule("fits",
           "    raise clarify when volume > syringe.capacity say \"x\" blames syringe.capacity\n");
  RulesUnderTest rules(kAgree + fits);
  Fields order = kWrongPoint;
  order.emplace_back("syringe.capacity", "1 mL");
  EXPECT_THAT(rules.one(order).slips, ElementsAre("volume: 2.5 mL -> 0.25 mL (agree fits)"));
}

TEST(Slips, TwoMistakesGetOneEach) {
  const std::string fits =
      rule("old",
           "    raise hold when vial.expires is before 2026-03-02 say \"x\" blames vial.expires\n");
  RulesUnderTest rules(kAgree + fits);
  Fields order = kWrongPoint;
  order.emplace_back("vial.expires", "2025-09-30");
  const auto slips = rules.one(order).slips;
  EXPECT_THAT(slips, Contains("volume: 2.5 mL -> 0.25 mL (agree)"));
  EXPECT_THAT(slips, Contains("vial.expires: 2025-09-30 -> 2026-09-30 (old)"));
}

// The engine knows no medicine: what a strength may be comes from the table of the look-up.
TEST(Slips, ALookUpSaysWhichValuesThereAre) {
  const std::string made =
      rule("made",
           "    raise clarify when not (any row of brews where row.code is "
           "substance.code and row.power is strength) say \"x\" blames strength\n");
  RulesUnderTest rules(
      "table brews from \"brews.csv\"\n" + made,
      {{"brews.csv", "code,power [strength]\nalpha,7 mg/mL\nalpha,9 mg/mL\nbeta,8 mg/mL\n"}});
  EXPECT_THAT(
      rules.one({{"substance.code", "alpha"}, {"strength", "8 mg/mL"}}).slips,
      ElementsAre("strength: 8 mg/mL -> 9 mg/mL (made)", "strength: 8 mg/mL -> 7 mg/mL (made)"));
}

TEST(Slips, TheOtherSideAsTheHistoryHasIt) {
  const std::string rest = rule(
      "rest",
      "    let here = latest earlier injection where earlier.site is site and earlier.side is "
      "side\n"
      "    raise clarify when days from here.when to planned-day < 7 days say \"x\" blames side\n"
      "    without site, side ignore\n");
  RulesUnderTest rules(
      "table words from \"words.csv\"\ntable sites from \"sites.csv\"\n" + rest,
      {{"words.csv", "field,word\nside,left\nside,right\norder.action,given\norder.action,new\n"},
       {"sites.csv", "site,parent\nabdomen,\n"}});
  const Fields given = {{"patient.id", "SM-1"},
                        {"order.action", "given"},
                        {"order.given", "2026-02-27"},
                        {"site", "abdomen"},
                        {"side", "left"}};
  const Fields order = {{"patient.id", "SM-1"},
                        {"schedule.start", "2026-03-02"},
                        {"site", "abdomen"},
                        {"side", "left"}};
  const auto judged = rules.all({given, order, order});
  EXPECT_THAT(judged[1].slips, Contains("side: left -> right (rest)"));
  // The trial orders went into no history: the right side is still free for the next one.
  EXPECT_THAT(judged[2].slips, Contains("side: left -> right (rest)"));
}

TEST(Slips, AFieldThatIsMissingOrInDoubtIsNotFilledIn) {
  const std::string need =
      rule("need", "    raise hold when volume is missing say \"x\" blames volume\n");
  RulesUnderTest rules(need);
  EXPECT_EQ(rules.one({{"dose", "50 mg"}}).outcome, "hold");
  EXPECT_THAT(rules.one({{"dose", "50 mg"}}).slips, IsEmpty());
  EXPECT_THAT(rules.one({{"dose", "50 mg"}, {"volume", "0,25 mL"}}).slips, IsEmpty());
}

TEST(Slips, AreNeverThoseOfTheOrderBefore) {
  RulesUnderTest rules(rule("dosed",
                            "    raise hold when dose > 140 mg say \"x\" blames dose\n"
                            "    without dose raise clarify say \"no dose\"\n"));
  const Fields large = {{"patient.id", "SM-0011"}, {"dose", "149 mg"}};
  const Fields open = {{"patient.id", "SM-0012"}, {"dose", "0 mg"}};
  const auto judged = rules.all({large, open, large});
  EXPECT_THAT(judged[0].slips, Contains("dose: 149 mg -> 14.9 mg (dosed)"));
  EXPECT_EQ(judged[1].outcome, "clarify");
  EXPECT_THAT(judged[1].slips, IsEmpty()) << "nothing can be tried for it";
  EXPECT_EQ(judged[2].slips, judged[0].slips);
}

TEST(Slips, TwoFieldsThatARuleComparesMayBeExchanged) {
  RulesUnderTest rules(
      rule("span",
           "    raise clarify when schedule.end is before schedule.start say \"x\" "
           "blames schedule.end\n"));
  EXPECT_THAT(rules.one({{"schedule.start", "2026-08-20"}, {"schedule.end", "2026-03-02"}}).slips,
              Contains("schedule.end: 2026-03-02 -> 2026-08-20 (span)"));
}

}  // namespace
}  // namespace meniscus
