// What the language means, case by case: missing, none, unlike kinds, words that nobody knows,
// `without`, the first clause that holds, history.  Every case runs over columns and one by one.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/rules_under_test.hpp"

namespace meniscus {
namespace {

using ::testing::ElementsAre;
using testing::Fields;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using testing::Judged;
using testing::RulesUnderTest;

std::string rule(const std::string& body, const std::string& name = "r") {
  return "rule " + name + " \"t\"\n    concerns all orders\n" + body +
         "    cite \"common practice\" owner \"lead nurse\" reviewed 2026-05-01 review by "
         "2027-05-01\n";
}

TEST(Missing, MakesAConditionUnknownAndAGraveRuleIncomplete) {
  RulesUnderTest rules(rule("    raise hold when volume > 1 mL say \"big\" blames volume\n"));
  EXPECT_EQ(rules.one({{"volume", "2 mL"}}).outcome, "hold");
  EXPECT_EQ(rules.one({{"volume", "1 mL"}}).outcome, "clear");
  const Judged judged = rules.one({{"dose", "5 mg"}});
  EXPECT_EQ(judged.outcome, "incomplete");
  EXPECT_THAT(judged.not_assessed, ElementsAre("volume: r"));
}

TEST(Missing, InAMildRuleIsSaidButMakesNothingIncomplete) {
  RulesUnderTest rules(rule("    raise caution when volume > 1 mL say \"big\" blames volume\n"));
  const Judged judged = rules.one({{"dose", "5 mg"}});
  EXPECT_EQ(judged.outcome, "clear");
  EXPECT_THAT(judged.not_assessed, ElementsAre("volume: r"));
}

TEST(Say, LengthsOfOneSentenceAreInTheUnitOfTheOrder) {
  RulesUnderTest rules(rule(
      "    let least = 1 in\n"
      "    raise hold when needle.length < least say \"{needle.length}, not {least}, {volume}\" "
      "blames needle.length\n    without volume ignore\n"));
  EXPECT_THAT(rules.one({{"needle.length", "5/8 in"}, {"volume", "1 mL"}}).findings,
              ElementsAre("hold r: 5/8 in, not 1 in, 1 mL"));
  EXPECT_THAT(rules.one({{"needle.length", "16 mm"}, {"volume", "1 mL"}}).findings,
              ElementsAre("hold r: 16 mm, not 25.4 mm, 1 mL"));
  EXPECT_THAT(rules.one({{"needle.length", "1.6 cm"}, {"volume", "1 mL"}}).findings,
              ElementsAre("hold r: 1.6 cm, not 2.54 cm, 1 mL"));
}

TEST(Say, InchesAreFractionsAndMillimetresWhereTheyAreNone) {
  RulesUnderTest rules(
      rule("    let least = 1 1/2 in\n    let best = 8 mm\n"
           "    raise hold when needle.length < least say \"{needle.length}, {least}, {least / 2}, "
           "{best}\" "
           "blames needle.length\n"));
  EXPECT_THAT(rules.one({{"needle.length", "5/8 in"}}).findings,
              ElementsAre("hold r: 5/8 in, 1 1/2 in, 3/4 in, 8 mm"));
  EXPECT_THAT(rules.one({{"needle.length", "6 mm"}}).findings,
              ElementsAre("hold r: 6 mm, 38.1 mm, 19.05 mm, 8 mm"));
}

TEST(NotAssessed, SaysWhatIsMissingOfAListAndOfAnAge) {
  RulesUnderTest lists(
      rule("    raise hold when (any of schedule.steps where each.volume > 1 mL) say \"x\" blames "
           "volume\n"));
  EXPECT_THAT(lists.one({{"schedule.steps", "dose=5 mg every=7 days"}}).not_assessed,
              ElementsAre("schedule.steps: a part does not say what is asked of it: r"));
  RulesUnderTest ages(rule("    raise hold when patient.age < 2 years say \"x\" blames volume\n"));
  EXPECT_THAT(ages.one({{"patient.born", "2025-12-01"}}).not_assessed,
              ElementsAre("patient.age: the order has no day for it: r"));
  EXPECT_THAT(ages.one({{"patient.born", "2025"}, {"schedule.start", "2026-03-02"}}).not_assessed,
              ElementsAre("patient.age: the birth date has no day: r"));
  EXPECT_THAT(ages.one({{"dose", "5 mg"}}).not_assessed, ElementsAre("patient.born: r"));
}

TEST(None, DoesNotHoldEitherWay) {
  RulesUnderTest rules(
      rule("    raise hold when vial.opened is before 2026-01-01 say \"old\" blames vial.opened\n"
           "    raise caution when not vial.opened is before 2026-01-01 say \"new\" blames "
           "vial.opened\n"));
  EXPECT_EQ(rules.one({{"vial.opened", "2025-12-01"}}).outcome, "hold");
  EXPECT_EQ(rules.one({{"vial.opened", "2026-02-01"}}).outcome, "caution");
  EXPECT_EQ(rules.one({{"vial.opened", "none"}}).all(), "clear");
}

TEST(FalseAndUnknown, AFalsePartSettlesAnAnd) {
  RulesUnderTest rules(
      rule("    raise hold when volume > 1 mL and dose > 5 mg say \"x\" blames volume\n"));
  EXPECT_EQ(rules.one({{"volume", "0.5 mL"}}).all(), "clear");
  EXPECT_EQ(rules.one({{"volume", "2 mL"}}).outcome, "incomplete");
}

TEST(TrueAndUnknown, ATruePartSettlesAnOr) {
  RulesUnderTest rules(
      rule("    raise hold when volume > 1 mL or dose > 5 mg say \"x\" blames volume\n"));
  EXPECT_EQ(rules.one({{"volume", "2 mL"}}).outcome, "hold");
  EXPECT_EQ(rules.one({{"volume", "0.5 mL"}}).outcome, "incomplete");
}

TEST(Limits, AreNotDecidedByRounding) {
  RulesUnderTest rules(
      rule("    let three = 0.1 mL + 0.1 mL + 0.1 mL\n"
           "    raise hold when volume > three say \"over\" blames volume\n"
           "    raise caution when volume < three say \"under\" blames volume\n"));
  EXPECT_EQ(rules.one({{"volume", "0.3 mL"}}).outcome, "clear");
  EXPECT_EQ(rules.one({{"volume", "0.301 mL"}}).outcome, "hold");
  EXPECT_EQ(rules.one({{"volume", "0.299 mL"}}).outcome, "caution");
}

TEST(Share, IsExactAtItsLimit) {
  RulesUnderTest rules(
      rule("    let expected = dose / strength\n"
           "    raise hold when volume differs from expected by more than 20 % say \"{expected}\" "
           "blames volume\n"));
  const Fields order = {{"dose", "50 mg"}, {"strength", "200 mg/mL"}};
  const auto with = [&](const char* volume) {
    Fields fields = order;
    fields.emplace_back("volume", volume);
    return rules.one(fields);
  };
  EXPECT_EQ(with("0.3 mL").outcome, "clear");  // exactly 20 % more
  EXPECT_EQ(with("0.2 mL").outcome, "clear");  // exactly 20 % less
  EXPECT_THAT(with("0.301 mL").findings, ElementsAre("hold r: 0.25 mL"));
  EXPECT_EQ(with("0.199 mL").outcome, "hold");
}

TEST(Lists, AWordThatNobodyKnowsIsNamedInsideALookUpToo) {
  RulesUnderTest rules(
      "table allergens from \"allergens.csv\"\n" +
          rule("    raise hold when (any row of allergens where any of patient.allergies is "
               "row.allergy and row.ingredient is substance.code) say \"x\" blames "
               "patient.allergies\n"),
      {{"allergens.csv", "allergy,ingredient\nsesame,sesame-oil\n"}});
  const Fields known = {{"substance.code", "sesame-oil"}, {"patient.allergies", "sesame"}};
  EXPECT_EQ(rules.one(known).outcome, "hold");
  const Judged judged =
      rules.one({{"substance.code", "sesame-oil"}, {"patient.allergies", "cipionate"}});
  EXPECT_EQ(judged.outcome, "incomplete");
  EXPECT_THAT(judged.not_assessed, ElementsAre("patient.allergies: cipionate, in no table: r"));
}

TEST(History, AMonthAloneIsTheLastDayThatItCanMean) {
  RulesUnderTest rules(
      rule("    let before = latest earlier injection where earlier.dose is given\n"
           "    raise note when days since before.when >= 0 days say \"{days since before.when}\" "
           "blames dose\n"));
  const auto after = [&](const char* given, const char* placed) {
    return rules
        .last({{{"order.id", "G"},
                {"patient.id", "SM-0012"},
                {"dose", "5 mg"},
                {"order.action", "given"},
                {"order.given", given},
                {"order.placed", placed}},
               {{"order.id", "A"}, {"patient.id", "SM-0012"}, {"dose", "5 mg"}}})
        .all();
  };
  EXPECT_THAT(after("2026-02", "2026-03-02"), HasSubstr("note r: 2 days"));  // 28 February
  EXPECT_THAT(after("2025", "2026-03-02"), HasSubstr("note r: 61 days"));    // 31 December
  EXPECT_THAT(after("2026-03", "2026-03-01"), HasSubstr("note r: 1 day"));  // not after it was said
  EXPECT_THAT(after("2026-02-03", "2026-03-02"), HasSubstr("note r: 27 days"));
}

TEST(ClockTime, IsTheDifferenceOfTwoTimesAndMissingWithoutOne) {
  RulesUnderTest rules(
      rule("    let apart = time from schedule.last-given to schedule.start\n"
           "    raise note when apart < 12 h say \"{apart}\" blames schedule.start\n"));
  const auto from = [&](const char* last, const char* start) {
    return rules.one({{"schedule.last-given", last}, {"schedule.start", start}});
  };
  EXPECT_THAT(from("2026-03-02T08:00", "2026-03-02T09:00").all(), HasSubstr("note r: 1 hour"));
  // 23:30 at +01:00 is 22:30 at +00:00 (ISO 8601-1:2019, 4.2.5: offsets from UTC).
  EXPECT_THAT(from("2026-03-01T23:30:00+01:00", "2026-03-01T23:30:00+00:00").all(),
              HasSubstr("note r: 1 hour"));
  EXPECT_EQ(from("2026-03-02T08:00", "2026-03-02T20:00").outcome, "clear");
  EXPECT_THAT(from("2026-03-02", "2026-03-02T09:00").not_assessed, ::testing::SizeIs(1));
  EXPECT_THAT(from("2026-03-02T08:00", "2026-03-02").not_assessed, ::testing::SizeIs(1));
}

TEST(Today, IsNoDayThatIsStillToComeByTheHostsClock) {
  RulesUnderTest rules(rule(
      "    raise note when order.placed is after today say \"{today}\" blames order.placed\n"));
  EXPECT_EQ(rules.one({{"order.placed", "2026-03-02"}}).outcome, "clear");
  EXPECT_EQ(rules.one({{"order.placed", "2026-03-03"}}).outcome, "clear") << "another time zone";
  EXPECT_THAT(rules.one({{"order.placed", "2026-03-04"}}).all(), HasSubstr("note r: 2026-03-02"));
  rules.options.as_of = 20880;  // 2027-03-03
  EXPECT_EQ(rules.one({{"order.placed", "2026-03-04"}}).outcome, "clear");
}

TEST(Given, InTheFutureIsInDoubt) {
  RulesUnderTest rules(
      rule("    raise note when dose > 5 mg say \"much\" blames dose\n    without dose ignore\n"));
  const auto given = [&](const char* day) {
    return rules.one({{"patient.id", "SM-0012"}, {"order.action", "given"}, {"order.given", day}});
  };
  EXPECT_THAT(given("2026-03-02").findings, ::testing::IsEmpty());
  EXPECT_THAT(given("2026-03-03").findings, ::testing::IsEmpty()) << "another time zone";
  EXPECT_THAT(given("2027-02-20").all(), HasSubstr("order.given: 2027-02-20 lies in the future"));
}

TEST(Without, AnswersForNoOtherSideOfAnOr) {
  // The volume is not there and ignored; that the dose could not be compared is another matter.
  RulesUnderTest rules(
      rule("    raise hold when dose > 5 mg or volume > 1 mL say \"x\" blames volume\n"
           "    without volume ignore\n"));
  EXPECT_EQ(rules.one({{"dose", "4 mg"}}).all(), "clear");
  const Judged judged = rules.one({{"dose", "40 units"}});
  EXPECT_EQ(judged.outcome, "incomplete");
  EXPECT_THAT(judged.not_assessed, ElementsAre("dose (unlike kinds): r"));
  EXPECT_EQ(rules.one({{"dose", "40 mg"}}).outcome, "hold");
}

TEST(Without, AnswersForAnAndOfWhichItLacksASide) {
  RulesUnderTest rules(
      rule("    raise hold when dose > 5 mg and volume > 1 mL say \"x\" blames volume\n"
           "    without volume ignore\n"));
  EXPECT_EQ(rules.one({{"dose", "40 units"}}).all(), "clear");
  EXPECT_EQ(rules.one({{"dose", "40 units"}, {"volume", "2 mL"}}).outcome, "incomplete");
}

TEST(Without, SeesAnOrBehindANot) {
  RulesUnderTest rules(
      rule("    raise hold when not (dose <= 5 mg and volume <= 1 mL) say \"x\" blames volume\n"
           "    without volume ignore\n"));
  EXPECT_EQ(rules.one({{"dose", "40 units"}}).outcome, "incomplete");
  EXPECT_EQ(rules.one({{"dose", "4 mg"}}).all(), "clear");
}

TEST(Kinds, UnlikeOnesDeepInAReckoningAreStillNamed) {
  RulesUnderTest rules(
      rule("    let most = 100 mg\n"
           "    let in-a-week = if self-injected is yes then dose * 2 otherwise dose * (7 days / "
           "(schedule.every / (schedule.times or else 1)))\n"
           "    raise hold when ((in-a-week + in-a-week) + in-a-week) + in-a-week > most\n"
           "        say \"{most}\" blames dose\n    without self-injected ignore\n"));
  const Judged judged =
      rules.one({{"dose", "5 units"}, {"schedule.every", "7 days"}, {"self-injected", "no"}});
  EXPECT_EQ(judged.outcome, "incomplete");
  EXPECT_THAT(judged.not_assessed, ElementsAre(HasSubstr("dose")));
}

TEST(Kinds, UnlikeOnesAreUnknownAndBlameBothFields) {
  RulesUnderTest rules(
      rule("    raise hold when volume differs from dose / strength by more than 5 % say \"x\" "
           "blames volume\n"));
  const Judged judged =
      rules.one({{"dose", "50 units"}, {"strength", "200 mg/mL"}, {"volume", "0.25 mL"}});
  EXPECT_EQ(judged.outcome, "incomplete");
  ASSERT_EQ(judged.not_assessed.size(), 1U);
  EXPECT_THAT(judged.not_assessed[0], HasSubstr("dose"));
  EXPECT_THAT(judged.not_assessed[0], HasSubstr("strength"));
}

TEST(Defaults, OneInjectionAndOneDoseAnIntervalWhereNothingIsSaid) {
  RulesUnderTest rules(
      rule("    raise hold when dose / injections > 50 mg say \"big\" blames dose\n", "a") +
      rule("    raise note when injections is given say \"said\" blames injections\n", "b") +
      rule("    raise caution when schedule.every / schedule.times < 2 days say \"often\" blames "
           "schedule.every\n    without schedule.every ignore\n",
           "c"));
  EXPECT_EQ(rules.one({{"dose", "60 mg"}}).all(), "hold | hold a: big");
  EXPECT_EQ(rules.one({{"dose", "60 mg"}, {"injections", "2"}}).all(), "note | note b: said");
  EXPECT_EQ(rules.one({{"dose", "5 mg"}, {"schedule.every", "1 day"}}).all(),
            "caution | caution c: often");
}

TEST(KindOf, TellsMassUnitsAndVolumeApart) {
  RulesUnderTest rules(
      rule("    raise note when kind of dose is by-units say \"u\" blames dose\n"
           "    raise caution when kind of dose is by-volume say \"v\" blames dose\n"));
  EXPECT_EQ(rules.one({{"dose", "50 units"}}).outcome, "note");
  EXPECT_EQ(rules.one({{"dose", "0.5 mL"}}).outcome, "caution");
  EXPECT_EQ(rules.one({{"dose", "50 mg"}}).outcome, "clear");
}

TEST(Clauses, TheFirstThatHoldsIsReportedAndAGraverUndecidedOneIsSaid) {
  RulesUnderTest rules(
      rule("    raise hold when dose > 5 mg say \"a\" blames dose\n"
           "    raise caution when volume > 1 mL say \"b\" blames volume\n"
           "    raise note when volume > 0.5 mL say \"c\" blames volume\n"));
  const Judged judged = rules.one({{"volume", "2 mL"}});
  EXPECT_THAT(judged.findings, ElementsAre("caution r: b"));
  EXPECT_THAT(judged.not_assessed, ElementsAre("dose: r"));
  EXPECT_EQ(judged.outcome, "incomplete");
  EXPECT_EQ(rules.one({{"volume", "2 mL"}, {"dose", "6 mg"}}).all(), "hold | hold r: a");
}

TEST(Without, RaisesForWhatIsMissingAlsoBesideAMilderClause) {
  RulesUnderTest rules(
      rule("    raise hold when dose > 5 mg say \"a\" blames dose\n"
           "    raise note when volume > 1 mL say \"b\" blames volume\n"
           "    without dose raise clarify say \"no dose\"\n"));
  const Judged judged = rules.one({{"volume", "2 mL"}});
  EXPECT_EQ(judged.outcome, "clarify");
  EXPECT_THAT(judged.findings, ElementsAre("clarify r: no dose", "note r: b"));
  EXPECT_THAT(judged.not_assessed, IsEmpty());
}

TEST(Without, IgnoreIsAWrittenSilence) {
  RulesUnderTest rules(
      rule("    raise hold when volume > 1 mL say \"a\" blames volume\n"
           "    without volume ignore\n"));
  EXPECT_EQ(rules.one({{"dose", "5 mg"}}).all(), "clear");
}

TEST(Without, RaisesNothingForAFieldThatTheFeedNeverCarries) {
  RulesUnderTest rules(
      rule("    raise hold when volume > 1 mL say \"a\" blames volume\n"
           "    without volume raise clarify say \"no volume\"\n") +
      rule("    raise hold when needle.length > 1 in say \"b\" blames needle.length\n", "q"));
  rules.options.never_carries.set(engine::index(engine::FieldId::Volume));
  rules.options.never_carries.set(engine::index(engine::FieldId::NeedleLength));
  EXPECT_EQ(rules.one({{"dose", "5 mg"}}).all(), "clear");
  // Said once a run instead: by field, the rules that need it.
  EXPECT_EQ(rules.never_assessed(), (std::vector<std::string>{"volume: r", "needle.length: q"}));
}

TEST(Without, AnswersForAnUnsetSetting) {
  RulesUnderTest rules("setting limit unset \"a limit\"\n" +
                       rule("    raise clarify when volume > limit say \"a\" blames volume\n"
                            "    without limit raise note say \"no limit is set\"\n"));
  EXPECT_EQ(rules.one({{"volume", "2 mL"}}).all(), "note | note r: no limit is set");
}

TEST(Asking, GivenMissingNone) {
  RulesUnderTest rules(
      rule("    raise note when volume is given say \"given\" blames volume\n"
           "    raise caution when volume is missing say \"missing\" blames volume\n"
           "    raise clarify when volume is none say \"none\" blames volume\n"));
  EXPECT_EQ(rules.one({{"volume", "2 mL"}}).all(), "note | note r: given");
  EXPECT_EQ(rules.one({{"dose", "2 mg"}}).findings, std::vector<std::string>{"caution r: missing"});
  EXPECT_EQ(rules.one({{"volume", "none"}}).all(), "clarify | clarify r: none");
}

constexpr const char* kSites =
    "site, synonyms [text], parent, region, sided [yes/no]\n"
    "upper-arm, , , upper-arm, yes\n"
    "deltoid, delt, upper-arm, upper-arm, yes\n"
    "abdomen, belly, , abdomen, yes\n";
constexpr const char* kWords =
    "field, word, synonyms [text]\n"
    "side, left, L\n"
    "side, right, R\n"
    "order.action, new, \n"
    "order.action, change, \n"
    "order.action, stop, \n"
    "order.action, cancel, \n"
    "order.action, given, \n";

std::string tables() { return "table sites from \"sites.csv\"\ntable words from \"words.csv\"\n"; }
std::map<std::string, std::string> files() {
  return {{"sites.csv", kSites}, {"words.csv", kWords}};
}

TEST(Words, ThatNoRowKnowsAreUnknownAndNamed) {
  RulesUnderTest rules(
      tables() + rule("    raise hold when site is abdomen say \"a\" blames site\n"), files());
  EXPECT_EQ(rules.one({{"site", "Belly"}}).outcome, "hold");
  EXPECT_EQ(rules.one({{"site", "deltoid"}}).outcome, "clear");
  const Judged judged = rules.one({{"site", "kneecap"}});
  EXPECT_EQ(judged.outcome, "incomplete");
  EXPECT_THAT(judged.not_assessed, ElementsAre("site: kneecap: r"));
}

TEST(Sites, FormATree) {
  RulesUnderTest rules(
      tables() +
          rule("    raise note when site is in upper-arm say \"arm\" blames site\n"
               "    raise caution when region of site is abdomen say \"belly\" blames site\n"),
      files());
  EXPECT_EQ(rules.one({{"site", "deltoid"}}).outcome, "note");
  EXPECT_EQ(rules.one({{"site", "upper arm"}}).outcome, "note");
  EXPECT_EQ(rules.one({{"site", "abdomen"}}).outcome, "caution");
}

std::string rest_rule() {
  return tables() + rule(
                        "    let here = latest earlier injection where region of earlier.site is "
                        "region of site and earlier.side is side\n"
                        "    raise caution when days from here.when to planned-day < 7 days say "
                        "\"used {days from here.when to planned-day} ago\" blames site\n"
                        "    without site, side ignore\n");
}
Fields injection(const char* day, const char* site, const char* side, const char* id) {
  return {{"patient.id", "SM-0001"},
          {"order.id", id},
          {"schedule.start", day},
          {"site", site},
          {"side", side}};
}

TEST(History, TheSameRegionAgainWithinAWeek) {
  RulesUnderTest rules(rest_rule(), files());
  EXPECT_EQ(rules
                .last({injection("2026-03-02", "deltoid", "left", "A"),
                       injection("2026-03-05", "upper-arm", "left", "B")})
                .all(),
            "caution | caution r: used 3 days ago");
  EXPECT_EQ(rules
                .last({injection("2026-03-02", "deltoid", "left", "A"),
                       injection("2026-03-09", "deltoid", "left", "B")})
                .all(),
            "clear");
  EXPECT_EQ(rules
                .last({injection("2026-03-02", "deltoid", "left", "A"),
                       injection("2026-03-05", "deltoid", "right", "B")})
                .all(),
            "clear");
}

TEST(History, AnOrderIsNeverEarlierThanItselfAndACancelledOneDoesNotCount) {
  RulesUnderTest rules(rest_rule(), files());
  EXPECT_EQ(rules
                .last({injection("2026-03-02", "deltoid", "left", "A"),
                       injection("2026-03-05", "deltoid", "left", "A")})
                .all(),
            "clear");
  EXPECT_EQ(rules
                .last({injection("2026-03-02", "deltoid", "left", "A"),
                       {{"patient.id", "SM-0001"}, {"order.id", "A"}, {"order.action", "cancel"}},
                       injection("2026-03-05", "deltoid", "left", "B")})
                .all(),
            "clear");
}

TEST(History, ALateRecordCountsByWhenItHappened) {
  RulesUnderTest rules(rest_rule(), files());
  Fields late = {{"patient.id", "SM-0001"}, {"order.id", "G"},
                 {"order.action", "given"}, {"order.given", "2026-03-04T10:00"},
                 {"site", "deltoid"},       {"side", "left"}};
  const std::vector<Judged> all = rules.all({injection("2026-03-05", "deltoid", "left", "B"), late,
                                             injection("2026-03-09", "deltoid", "left", "C")});
  EXPECT_EQ(all[0].outcome, "clear");
  EXPECT_EQ(all[1].outcome, "recorded");
  EXPECT_THAT(all[2].findings, ElementsAre("caution r: used 4 days ago"));
}

TEST(History, AnUnknownRecordThatCouldChangeTheAnswerMakesItUnknown) {
  RulesUnderTest rules(
      tables() + rule("    let often = number of earlier injections where earlier.site is abdomen\n"
                      "    raise hold when often >= 1 say \"x\" blames site\n"),
      files());
  const Fields no_site = {
      {"patient.id", "SM-0001"}, {"order.id", "A"}, {"schedule.start", "2026-03-01"}};
  const Judged judged = rules.last({no_site, injection("2026-03-05", "deltoid", "left", "B")});
  EXPECT_EQ(judged.outcome, "incomplete");
  EXPECT_THAT(judged.not_assessed, ElementsAre("earlier site: r"));
}

TEST(ActiveOrders, AreSummedByTheWeek) {
  RulesUnderTest rules(
      rule("    let others = weekly dose of active orders where active.substance.code is "
           "substance.code\n"
           "    raise clarify when weekly dose of this order + others > 100 mg say \"{weekly dose "
           "of this order + others} a week\" blames dose\n"));
  const auto order = [](const char* id, const char* dose, const char* end) -> Fields {
    Fields f = {{"patient.id", "SM-0001"},
                {"order.id", id},
                {"substance.code", "testosterone-cypionate"},
                {"dose", dose},
                {"schedule.every", "1 wk"},
                {"schedule.start", "2026-03-02"}};
    if (*end != 0) f.emplace_back("schedule.end", end);
    return f;
  };
  EXPECT_EQ(rules.one(order("A", "100 mg", "")).all(), "clear");
  EXPECT_EQ(rules.last({order("A", "60 mg", ""), order("B", "50 mg", "")}).all(),
            "clarify | clarify r: 110 mg a week");
  Fields later = order("B", "50 mg", "");
  later[5].second = "2026-04-20";
  EXPECT_EQ(rules.last({order("A", "60 mg", "2026-04-01"), later}).all(), "clear");
}

TEST(Lookups, AnUnknownKeyIsNamedAndAgreeingRowsAreKnown) {
  const std::map<std::string, std::string> csv = {{"limits.csv",
                                                   "route, ages [time band], most [volume]\n"
                                                   "sc, 18 years to any, 2 mL\n"
                                                   "sc, 0 days to 18 years, 2 mL\n"
                                                   "im, 18 years to any, 5 mL\n"
                                                   "im, 0 days to 18 years, 1 mL\n"}};
  RulesUnderTest rules("table limits from \"limits.csv\"\n" +
                           rule("    let most = look up most in limits where row.route is "
                                "substance.form and row.ages includes patient.age\n"
                                "    raise hold when volume > most say \"{most}\" blames volume\n"),
                       csv);
  const auto with = [&](const char* form, const char* age) {
    Fields f = {{"volume", "3 mL"}, {"substance.form", form}};
    if (*age != 0) f.emplace_back("patient.age", age);
    return rules.one(f);
  };
  EXPECT_EQ(with("sc", "").all(), "hold | hold r: 2 mL");  // both bands agree
  EXPECT_EQ(with("im", "30 years").all(), "clear");
  EXPECT_EQ(with("im", "10 years").all(), "hold | hold r: 1 mL");
  EXPECT_EQ(with("im", "18 years").all(), "clear");  // the upper end of a band is outside it
  EXPECT_THAT(with("im", "").not_assessed, ElementsAre("patient.born: r"));
  EXPECT_THAT(with("iv", "30 years").not_assessed, ElementsAre("limits: no row for iv: r"));
}

TEST(Groups, FindingsThatBlameOneFieldArriveTogether) {
  RulesUnderTest rules(
      rule("    raise caution when volume > 1 mL say \"a\" blames volume\n", "a") +
      rule("    raise hold when dose > 5 mg say \"b\" blames dose\n", "b") +
      rule("    raise clarify when volume > 0.5 mL say \"c\" blames volume\n", "c"));
  EXPECT_THAT(rules.one({{"volume", "2 mL"}, {"dose", "6 mg"}}).findings,
              ElementsAre("hold b: b", "clarify c: c", "caution a: a"));
}

TEST(Dates, AMonthAfterTheLastOfJanuaryIsTheLastOfFebruary) {
  RulesUnderTest rules(
      rule("    let due = schedule.every after schedule.last-given\n"
           "    raise note when due is 2026-02-28 say \"{due}\" blames schedule.every\n"
           "    raise caution when due is 2026-03-28 say \"{due}\" blames schedule.every\n"));
  EXPECT_EQ(rules.one({{"schedule.every", "1 mo"}, {"schedule.last-given", "2026-01-31"}}).all(),
            "note | note r: 2026-02-28");
  EXPECT_EQ(rules.one({{"schedule.every", "1 mo"}, {"schedule.last-given", "2026-02-28"}}).all(),
            "caution | caution r: 2026-03-28");
}

TEST(Dates, SevenCalendarDaysWhateverTheClockDoes) {
  RulesUnderTest rules(
      rule("    raise hold when days from schedule.last-given to schedule.start < 7 days say "
           "\"early\" blames schedule.start\n"));
  EXPECT_EQ(rules
                .one({{"schedule.last-given", "2026-03-22T23:30:00+01:00"},
                      {"schedule.start", "2026-03-29T22:30:00+02:00"}})
                .all(),
            "clear");
}

TEST(Doubt, AValueThatCouldMeanTwoThingsIsAskedAboutAndUnknown) {
  RulesUnderTest rules(rule("    raise hold when volume > 1 mL say \"a\" blames volume\n"));
  const Judged judged = rules.one({{"volume", "0,25 mL"}});
  EXPECT_EQ(judged.outcome, "clarify");
  ASSERT_EQ(judged.findings.size(), 1U);
  EXPECT_THAT(judged.findings[0], HasSubstr("clarify doubtful-value: volume"));
}

}  // namespace
}  // namespace meniscus
