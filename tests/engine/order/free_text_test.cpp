// What stands only in the medicine's name or in the directions.
//
// Sources: name shapes after RxNorm (`100 MG/ML`, `0.8 ML ... 100 UNT/ML`) and HL7 v2 samples
//          (`80mg/0.8mL`); 1 % w/v = 10 mg/mL and 1:1000 = 1 mg/mL (pharmacy convention, USP
//          General Notices, from memory); frequencies in words: common practice.
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <utility>

#include "engine/order/field_text.hpp"

namespace meniscus::engine {
namespace {

class Complete : public ::testing::Test {
 protected:
  Complete() {
    for (const char* route : {"subcutaneous", "intramuscular", "intravenous", "oral"})
      program.vocabularies[index(FieldId::Route)].add(route, route);
    for (const char* site : {"abdomen", "thigh", "deltoid"})
      program.vocabularies[index(FieldId::Site)].add(site, site);
    program.vocabularies[index(FieldId::Site)].add("outer thigh", "thigh");
    for (const char* side : {"left", "right"})
      program.vocabularies[index(FieldId::Side)].add(side, side);
    Vocabulary& substances = program.vocabularies[index(FieldId::SubstanceCode)];
    substances.add("enoxaparin", "enoxaparin");
    substances.add("insulin", "insulin-regular");
    substances.add("insulin glargine", "insulin-glargine");
    substances.add("testosterone cypionate", "testosterone-cypionate");
    block.add_lane();
  }
  void set(FieldId field, std::string_view text) {
    set_field(context(), block, 0, field, text, {});
  }
  ReadContext context() const { return {&program, &feed}; }
  void directions(std::string_view text) {
    set_field(context(), block, 0, FieldId::OrderDirections, text,
              {100, static_cast<std::uint32_t>(text.size())});
    complete(context(), block, 0);
  }
  void name(std::string_view text) {
    set(FieldId::SubstanceName, text);
    complete(context(), block, 0);
  }
  Value value(FieldId field) const { return block.value(0, field); }

  Program program;
  Feed feed;
  OrderBlock block;
};

/// Directions beside a coded order of 25 mg in 1 mL of methotrexate under the skin of the left
/// thigh, once a week: which fields are stated, and which are in doubt.  Kinds of text: `common
/// practice`.
struct Beside {
  std::string_view name;
  std::string_view text;
  std::string_view stated;  // fields, in the order of fields.def; empty: nothing that differs
};
class OtherThings : public Complete, public ::testing::WithParamInterface<Beside> {
 protected:
  /// What is stated and is not what is coded.
  [[nodiscard]] std::string differing() const {
    constexpr std::array<std::pair<FieldId, FieldId>, 6> kPairs = {
        {{FieldId::StatedDose, FieldId::Dose},
         {FieldId::StatedVolume, FieldId::Volume},
         {FieldId::StatedEvery, FieldId::ScheduleEvery},
         {FieldId::StatedRoute, FieldId::Route},
         {FieldId::StatedSite, FieldId::Site},
         {FieldId::StatedSide, FieldId::Side}}};
    std::string found;
    for (const auto& [stated, coded] : kPairs) {
      const Value said = value(stated);
      const Value kept = value(coded);
      const bool same = said.aux == kept.aux && std::abs(said.number - kept.number) < 1e-6;
      if (said.known() && !same)
        found += (found.empty() ? "" : " ") + std::string(info(stated).name);
    }
    for (const Doubt& doubt : block.doubts())
      found += (found.empty() ? "doubt " : " doubt ") + std::string(info(doubt.field).name);
    return found;
  }
};
TEST_P(OtherThings, AreNotTakenForTheOrders) {
  program.vocabularies[index(FieldId::SubstanceCode)].add("methotrexate", "methotrexate");
  set(FieldId::SubstanceCode, "methotrexate");
  set(FieldId::Dose, "25 mg");
  set(FieldId::Volume, "1 mL");
  set(FieldId::Route, "subcutaneous");
  set(FieldId::Site, "thigh");
  set(FieldId::Side, "left");
  set(FieldId::ScheduleEvery, "7 d");
  directions(GetParam().text);
  EXPECT_EQ(differing(), GetParam().stated);
}
INSTANTIATE_TEST_SUITE_P(
    Directions, OtherThings,
    ::testing::Values(
        Beside{"AnotherMedicine", "Inject 1 mL once a week. Take folic acid 1 mg daily.", ""},
        Beside{"BesideIt", "25 mg weekly with folic acid 5 mg by mouth the day after", ""},
        Beside{"TheAmountBeforeTheName", "Take 1 mg folic acid daily, except on that day", ""},
        Beside{"InBrackets", "(with folic acid 5 mg daily) 20 mg weekly", "stated.dose"},
        Beside{"TheOrdersOwnBehindIt", "Folic acid 5 mg Friday, methotrexate 15 mg Tuesday",
               "stated.dose"},
        Beside{"InjectBehindIt", "Folic acid 5 mg Friday and inject 0.6 mL Tuesday",
               "stated.volume"},
        Beside{"AnAmountBehindAComma", "with folic acid 1 mg daily, 15 mg weekly", "stated.dose"},
        Beside{"AnInjectionBesideIt", "25 mg weekly and enoxaparin 40 mg daily", ""},
        Beside{"AnotherInjectionAtTheHeadBehindItsAmount", "Inject 40 mg enoxaparin",
               "stated.dose"},
        Beside{"AnInjectionBehindItsAmount", "25 mg weekly and 40 mg enoxaparin daily", ""},
        Beside{"AnotherInjectionAtTheHead", "Inject enoxaparin 40 mg weekly", "stated.dose"},
        Beside{"WithoutTheOther", "25 mg weekly without enoxaparin 20 mg", "doubt stated.dose"},
        Beside{"OralSomething", "25 mg weekly until oral anticoagulant is started", ""},
        Beside{"OralOfItsOwn", "oral methotrexate 25 mg weekly", "stated.route"},
        Beside{"OralOfAnUnknownName", "25 mg weekly; continue oral aripiprazole 10 mg", ""},
        Beside{"AnUnknownNameByMouth", "25 mg weekly. Someolane 10 mg by mouth daily", ""},
        Beside{"AnotherByMouth", "25 mg weekly. Another 10 mg by mouth daily",
               "stated.route doubt stated.dose"},
        Beside{"InLines", "Folic acid 5 mg Friday\nMTX 15 mg Tuesday", "stated.dose"},
        Beside{"InALineThatIsWrapped",
               "25 mg weekly with folic acid 5 mg daily and calcium\n600 mg", ""},
        Beside{"OralWithHowOften", "25 mg oral weekly", "stated.route"},
        Beside{"AnOralSyringe", "25 mg weekly with oral syringe", ""},
        Beside{"AfterAFirstDose", "25 mg one week after the 80 mg first dose", ""},
        Beside{"ByMouth", "25 mg by mouth weekly", "stated.route"},
        Beside{"FromOral", "Switch from oral methotrexate 15 mg to subcutaneous 25 mg", ""},
        Beside{"ASyringe", "25 mg weekly (40 units on an insulin syringe)", ""},
        Beside{"Before", "Previously 20 mg every 2 weeks; now 25 mg weekly", ""},
        Beside{"BeforeAndNowAnother", "Previously 25 mg weekly; now 20 mg weekly", "stated.dose"},
        Beside{"WasAnother", "25 mg weekly (was 20 mg)", ""},
        Beside{"InsteadOf", "25 mg weekly instead of 20 mg, up from 15 mg", ""},
        Beside{"FromARange", "25 mg, from 20 mg to 30 mg", "doubt stated.dose"},
        Beside{"TheLastDose", "25 mg weekly. Last dose was 20 mg", ""},
        Beside{"IfThePreviousDose", "If the previous dose was missed, use 20 mg", ""},
        Beside{"WithoutThePreviousDose", "If a previous dose is missed use 20 mg", "stated.dose"},
        Beside{"FromTo", "Increase from 20 mg to 25 mg weekly", ""},
        Beside{"FromToAnother", "Increase from 20 mg to 30 mg weekly", "stated.dose"},
        Beside{"By", "25 mg weekly, increase by 2.5 mg every 2 weeks to 40 mg", ""},
        Beside{"StepsUp", "Start 25 mg weekly, increase 5 mg a month to 40 mg", ""},
        Beside{"LaterAnother", "Start 25 mg weekly, increase to 40 mg", ""},
        Beside{"LaterTheCoded", "Start 20 mg weekly, increase to 25 mg", "doubt stated.dose"},
        Beside{"ThenAnother", "25 mg weekly for 4 weeks, then 30 mg weekly", ""},
        Beside{"ThenTheCoded", "20 mg weekly for 4 weeks, then 25 mg weekly", "doubt stated.dose"},
        Beside{"ThenWithoutAnEnd", "25 mg now, then 30 mg", "doubt stated.dose"},
        Beside{"Expelled", "Draw 1.2 mL, expel to 1 mL, inject weekly", ""},
        Beside{"ExpelledToAnother", "Draw 1.2 mL, expel to 0.8 mL, inject", "stated.volume"},
        Beside{"VialsOf", "Inject 1 mL weekly, 4 vials of 2 mL", ""},
        Beside{"Scale", "BG 150-199 give 2 units; 200-249 give 4 units", ""},
        Beside{"NoScale", "Inject 2 mg", "stated.dose"},
        Beside{"PlacesRuledOut", "No injections in the right arm or abdomen. 25 mg weekly", ""},
        Beside{"AnotherPlaceBehind", "Avoid the abdomen, use right deltoid",
               "stated.site stated.side"},
        Beside{"APlaceInTheNextSentence", "Do not rub. Inject in the right thigh", "stated.side"}),
    [](const auto& info) { return std::string(info.param.name); });

TEST_F(Complete, AnotherInsulinIsNotTheOrders) {
  set(FieldId::SubstanceCode, "insulin glargine");
  set(FieldId::Dose, "20 units");
  directions("20 units at bedtime, and insulin lispro 6 units with meals; NPH 4 units at noon");
  EXPECT_TRUE(block.doubts().empty());
  EXPECT_DOUBLE_EQ(value(FieldId::StatedDose).number, 20);
}

TEST_F(Complete, TheOrdersOwnInsulinIs) {
  set(FieldId::SubstanceCode, "insulin glargine");
  set(FieldId::Dose, "20 units");
  directions("lispro 6 units with meals. Insulin glargine 30 units at bedtime");
  EXPECT_TRUE(value(FieldId::StatedDose).known() || !block.doubts().empty());
}

TEST_F(Complete, AVolumeOfAllInjectionsTogetherAgrees) {
  set(FieldId::Volume, "2 mL");
  set(FieldId::Injections, "2");
  directions("Give 4 mL IM divided into two injections");
  EXPECT_DOUBLE_EQ(value(FieldId::StatedVolume).number, 2000);  // of one
  EXPECT_EQ(block.written(0, FieldId::StatedVolume), "4 mL");
}

TEST_F(Complete, TheVolumeOfAllAndOfEachAgree) {
  set(FieldId::Volume, "1 mL");
  set(FieldId::Injections, "2");
  directions("2 mL IM every 4 weeks as two 1 mL injections");
  EXPECT_TRUE(block.doubts().empty());
}

TEST_F(Complete, AVolumeThatIsNotThatOfAllInjectionsIsStated) {
  set(FieldId::Volume, "2 mL");
  set(FieldId::Injections, "2");
  directions("Give 3 mL IM divided into two injections");
  EXPECT_DOUBLE_EQ(value(FieldId::StatedVolume).number, 3000);
}

/// Directions of 1 g of a powder that is dissolved in 2.1 mL and makes 2.9 mL of 350 mg/mL, as the
/// label of ceftriaxone 1 g has it (reconstitutions.csv).
TEST_F(Complete, WhatItIsDissolvedInIsNotTheDose) {
  for (const char* words :
       {"1 g IM once, dissolve in 2.1 mL lidocaine 1 %", "1 g IM once, in 2.1 mL of 1 % lidocaine",
        "1 g IM once, diluted in lidocaine 10 mg/mL", "1 g in 2.1 mL sterile water IM",
        "1 g, reconstitute with 2.1 mL sodium chloride 0.9 %, give 2.9 mL"}) {
    block.clear();
    block.add_lane();
    set(FieldId::SubstanceCode, "enoxaparin");
    set(FieldId::Strength, "350 mg/mL");
    set(FieldId::Volume, "2.9 mL");
    set(FieldId::Diluent, "2.1 mL");
    directions(words);
    const Value volume = value(FieldId::StatedVolume);
    EXPECT_TRUE(!volume.known() || volume.number == 2900) << words;
    EXPECT_FALSE(value(FieldId::StatedStrength).known()) << words;
    EXPECT_TRUE(block.doubts().empty()) << words;
  }
}

struct Said {
  std::string_view name;
  std::string_view text;
  FieldId field;
  double number;  // -1: nothing is read
};

class FromText : public Complete, public ::testing::WithParamInterface<Said> {
 protected:
  void expect(const Said& said) const {
    const Value read = value(said.field);
    if (said.number < 0) {
      EXPECT_EQ(read.state, State::Missing);
      return;
    }
    EXPECT_TRUE(read.known());
    EXPECT_TRUE(block.from_text(0, said.field));
    EXPECT_NEAR(read.number, said.number, 1e-9);
  }
};

class FromName : public FromText {};
TEST_P(FromName, IsReadIntoTheMissingField) {
  name(GetParam().text);
  expect(GetParam());
}
INSTANTIATE_TEST_SUITE_P(
    Names, FromName,
    ::testing::Values(
        Said{"Pack", "Enoxaparin 80mg/0.8mL Injectable Solution", FieldId::Strength, 0.1},
        Said{"PackContent", "Enoxaparin 80mg/0.8mL Injectable Solution", FieldId::VialContent, 80},
        Said{"PackVolume", "Enoxaparin 80mg/0.8mL Injectable Solution", FieldId::VialVolume, 800},
        Said{"CapitalUnits", "0.8 ML Enoxaparin sodium 100 MG/ML Prefilled Syringe",
             FieldId::Strength, 0.1},
        Said{"LeadingVolume", "0.8 ML Enoxaparin sodium 100 MG/ML Prefilled Syringe",
             FieldId::VialVolume, 800},
        Said{"UnitsPerMillilitre", "insulin glargine 100 UNT/ML", FieldId::Strength, 0.1},
        Said{"Scale", "insulin glargine U-100", FieldId::Strength, 0.1},
        Said{"PerFive", "estradiol valerate 100 mg/5 mL", FieldId::Strength, 0.02},
        Said{"PerFiveIsNoPack", "estradiol valerate 100 mg/5 mL", FieldId::VialVolume, -1},
        Said{"Percent", "lidocaine 1 %", FieldId::Strength, 0.01},
        Said{"Ratio", "epinephrine 1:1000", FieldId::Strength, 0.001},
        Said{"DiluentShare", "cefTRIAXone 2 g in sodium chloride 0.9 % 50 mL", FieldId::Strength,
             -1},
        Said{"Vial", "testosterone cypionate 200 mg/mL 10 mL vial", FieldId::VialVolume, 10000},
        Said{"TwoStrengths", "kit 100 mg/mL and 200 mg/mL", FieldId::Strength, -1},
        Said{"Mixture", "amoxicillin clavulanate 875/125 mg", FieldId::VialContent, -1}),
    [](const auto& info) { return std::string(info.param.name); });

class FromDirections : public FromText {};
TEST_P(FromDirections, IsReadIntoTheMissingField) {
  directions(GetParam().text);
  expect(GetParam());
}
constexpr double kDay = 86400;
INSTANTIATE_TEST_SUITE_P(
    Directions, FromDirections,
    ::testing::Values(
        Said{"Volume", "Inject 0.25 mL under the skin once a week", FieldId::Volume, 250},
        Said{"UnbreakableBlank", "Inject 0.25\u00A0mL once\u00A0a\u00A0week", FieldId::Volume, 250},
        Said{"ThinBlank", "Inject 0.25\u202FmL once a week", FieldId::Volume, 250},
        Said{"TwoBlanks", "Inject 0.25  mL  once a week", FieldId::Volume, 250},
        Said{"NeedleBesideTheVolume", "Inject 0.5 mL weekly with a 25 G 5/8 in needle",
             FieldId::Volume, 500},
        Said{"NeedleInInches", "Inject 0.5 mL weekly using a 1 1/2 inch needle", FieldId::Volume,
             500},
        Said{"WeeksBesideTheVolume", "Inject 0.5 mL weekly for 4-6 weeks", FieldId::Volume, 500},
        Said{"DateBesideTheDose", "Inject 50 mg on 3/2/2026", FieldId::Dose, 50},
        Said{"GaugesBesideTheDose", "Inject 50 mg, 22-25 G", FieldId::Dose, 50},
        Said{"VolumesBesideTheDose", "Inject 50 mg in 3-6 mL", FieldId::Dose, 50},
        Said{"VolumesInARow", "Inject 0.5 mL, later 3-6 mL", FieldId::Volume, -1},
        Said{"AnotherSentence", "Do not exceed 100 mg. Inject 0.5 mL", FieldId::Volume, 500},
        Said{"TheSameSentence", "Do not exceed 0.5 mL", FieldId::Volume, -1},
        Said{"LineEnd", "Inject 0.25\r\nmL once a week", FieldId::Volume, 250},
        Said{"CurlyQuotes", "Inject \u201C0.25 mL\u201D once a week", FieldId::Volume, 250},
        Said{"Hyphen", "Inject the 50-mg dose weekly", FieldId::Dose, 50},
        Said{"HyphenOfASyringe", "Draw up in a 1-mL syringe", FieldId::Volume, -1},
        Said{"HyphenOfATime", "a 4-week course of 50 mg", FieldId::Dose, 50},
        Said{"TwoWeekdays", "Inject 50 mg every Monday and Thursday", FieldId::ScheduleTimes, 2},
        Said{"ThreeWeekdays", "50 mg every Monday, Wednesday and Friday", FieldId::ScheduleTimes,
             3},
        Said{"OneWeekday", "50 mg every Monday", FieldId::ScheduleEvery, 7 * kDay},
        Said{"EitherWeekday", "50 mg every Monday or Thursday", FieldId::ScheduleEvery, -1},
        Said{"PointsInAShortForm", "50 mg q.o.d.", FieldId::ScheduleEvery, 2 * kDay},
        Said{"PointsInTwiceADay", "50 mg b.i.d.", FieldId::ScheduleTimes, 2},
        Said{"TimesAWeekWithAnX", "50 mg 2 x week", FieldId::ScheduleTimes, 2},
        Said{"EveryFifthDay", "50 mg every 5th day", FieldId::ScheduleEvery, 5 * kDay},
        Said{"EveryThirdWeek", "50 mg every third week", FieldId::ScheduleEvery, 21 * kDay},
        Said{"Quarterly", "50 mg quarterly", FieldId::ScheduleEvery, 3 * 30.4375 * kDay},
        Said{"BlanksInAnInterval", "Inject 50 mg every\u00A02\u00A0weeks", FieldId::ScheduleEvery,
             14 * kDay},
        Said{"Weekly", "Inject 0.25 mL under the skin once a week", FieldId::ScheduleEvery,
             7 * kDay},
        Said{"DoseInBrackets", "Inject 0.25 mL (50 mg) weekly", FieldId::Dose, 50},
        Said{"EveryTwoWeeks", "50 mg every two weeks", FieldId::ScheduleEvery, 14 * kDay},
        Said{"EveryOtherDay", "50 mg every other day", FieldId::ScheduleEvery, 2 * kDay},
        Said{"ShortForm", "50 mg IM q7d", FieldId::ScheduleEvery, 7 * kDay},
        Said{"Daily", "take 1 mg once daily", FieldId::ScheduleEvery, kDay},
        Said{"TimesPerWeek", "50 mg 2 times per week", FieldId::ScheduleTimes, 2},
        Said{"NoUnit", "Inject 0.25 weekly", FieldId::Volume, -1},
        Said{"TwoDoses", "50 mg now, 25 mg next time", FieldId::Dose, -1},
        Said{"SameDoseTwice", "50 mg today and 50 mg in a week", FieldId::Dose, 50},
        Said{"Maximum", "Not to exceed 40 mg", FieldId::Dose, -1},
        Said{"Diluent", "Dilute with 10 mL of saline", FieldId::Volume, -1},
        Said{"OfASyringe", "Draw up in a 1 mL syringe", FieldId::Volume, -1},
        Said{"Range", "Inject 50-100 mg weekly", FieldId::Dose, -1},
        Said{"PerDay", "100 mg/day", FieldId::Dose, -1},
        Said{"Needle", "use a 25 G 5/8 in needle", FieldId::Dose, -1},
        Said{"DecimalComma", "Inject 0,25 mL", FieldId::Volume, -1},
        Said{"HalfAsASign", "Inject \u00BD mL weekly", FieldId::Volume, 500},
        Said{"QuarterAtTheUnit", "Inject \u00BCmL weekly", FieldId::Volume, 250},
        Said{"ThreeQuarters", "Inject \u00BE mL weekly", FieldId::Volume, 750},
        Said{"OneAndAHalfAsASign", "Inject 1\u00BD mL weekly", FieldId::Volume, 1500},
        Said{"HalfInFigures", "Inject 1/2 mL weekly", FieldId::Volume, 500},
        Said{"OneAndAHalf", "Inject 1 1/2 mL weekly", FieldId::Volume, 1500},
        Said{"HalfAMilligram", "Inject 1/2 mg weekly", FieldId::Dose, 0.5},
        Said{"HalfAMillilitreSyringe", "Draw up in a 1/2 mL syringe", FieldId::Volume, -1},
        Said{"MostOfAFraction", "maximum dose of 1 1/2 mL", FieldId::Volume, -1},
        Said{"SignsInARange", "Inject \u00BD to 1 mL", FieldId::Volume, -1},
        Said{"MixtureInFigures", "Inject 3/6 mg", FieldId::Dose, -1},
        Said{"SyringeOfAKind", "Inject 0.5 mL using a 3 mL Luer lock syringe", FieldId::Volume,
             500},
        Said{"Air", "Draw 1 mL of air, then inject 0.5 mL", FieldId::Volume, 500},
        Said{"TwoIntervals", "daily for 5 days then weekly", FieldId::ScheduleEvery, -1}),
    [](const auto& info) { return std::string(info.param.name); });

TEST_F(Complete, AVolumeBehindAnUnbreakableBlankIsStated) {
  set(FieldId::Volume, "0.25 mL");
  directions("Inject 0.5\u00A0mL weekly");
  EXPECT_DOUBLE_EQ(value(FieldId::StatedVolume).number, 500);  // mm3
  EXPECT_EQ(block.written(0, FieldId::StatedVolume), "0.5\u00A0mL");
}

/// Directions beside a dose of 50 mg and a volume of 0.25 mL, and what is said to be in doubt.
struct InDoubt {
  std::string_view name;
  std::string_view text;
  std::string_view reason;  // empty: nothing is in doubt
};
class DoubtfulDirections : public Complete, public ::testing::WithParamInterface<InDoubt> {};
TEST_P(DoubtfulDirections, AreNotPassedOver) {
  set(FieldId::Dose, "50 mg");
  set(FieldId::Volume, "0.25 mL");
  directions(GetParam().text);
  std::string reasons;
  for (const Doubt& doubt : block.doubts())
    reasons += std::string(info(doubt.field).name) + ": " + doubt.reason;
  EXPECT_EQ(reasons, GetParam().reason);
}
INSTANTIATE_TEST_SUITE_P(
    Directions, DoubtfulDirections,
    ::testing::Values(
        InDoubt{"DecimalComma", "Inject 0,5 mL weekly",
                "stated.volume: `0,5 mL` in the directions can be read in two ways"},
        InDoubt{"TwoVolumes", "Inject 0.25 mL, then 0.5 mL",
                "stated.volume: the directions give `0.25 mL` and `0.5 mL`"},
        InDoubt{"TwoDoses", "Inject 50 mg now and 100 mg in a week",
                "stated.dose: the directions give `50 mg` and `100 mg`"},
        InDoubt{"ARangeWithASign", "Inject \u00BD to 1 mL",
                "stated.volume: `\u00BD to 1 mL` in the directions can be read in two ways"},
        InDoubt{"AnOddFraction", "Inject 1/3 mL",
                "stated.volume: `1/3 mL` in the directions can be read in two ways"},
        InDoubt{"Thousands", "Inject 1,000 mg",
                "stated.dose: `1,000 mg` in the directions can be read in two ways"},
        InDoubt{"AFractionIsCertain", "Inject \u00BC mL", ""},
        InDoubt{"TheSameTwice", "Inject 0.25 mL now and 0.25 mL in a week", ""},
        InDoubt{"MarksBesideTheDose", "Inject 50 mg (25 units on the syringe)", ""},
        InDoubt{"PartsOfOneDose", "Inject 50 mg, 25 mg in each thigh", ""},
        InDoubt{"AnotherThing", "Inject 0.25 mL with a 1 mL insulin syringe", ""},
        InDoubt{"ALimit", "Inject 50 mg. Do not exceed 100 mg", ""},
        InDoubt{"AMixture", "Inject 875/125 mg", ""}),
    [](const auto& info) { return std::string(info.param.name); });

/// Directions beside 50 mg in 0.25 mL once a week, with an amount per time: what one dose of it is.
/// The arithmetic is a rule of three: an amount a week, over the coded doses in a week.
struct PerTimeCase {
  std::string_view name;
  std::string_view text;
  double dose;    // what is stated, mg; -1: nothing
  double volume;  // mm3; -1: nothing
};
class AmountPerTime : public Complete, public ::testing::WithParamInterface<PerTimeCase> {
 protected:
  void expect(FieldId field, double number) const {
    const Value stated = value(field);
    EXPECT_EQ(stated.known(), number >= 0) << info(field).name;
    if (number >= 0) {
      EXPECT_NEAR(stated.number, number, 1e-9 * number) << info(field).name;
    }
  }
};
TEST_P(AmountPerTime, IsScaledToOneCodedDose) {
  set(FieldId::Dose, "50 mg");
  set(FieldId::Volume, "0.25 mL");
  set(FieldId::ScheduleEvery, "7 d");
  directions(GetParam().text);
  expect(FieldId::StatedDose, GetParam().dose);
  expect(FieldId::StatedVolume, GetParam().volume);
  EXPECT_TRUE(block.doubts().empty());
}
INSTANTIATE_TEST_SUITE_P(
    Directions, AmountPerTime,
    ::testing::Values(
        PerTimeCase{"Slash", "100 mg/week", 100, -1},
        PerTimeCase{"Per", "100 mg per week", 100, -1},
        PerTimeCase{"Article", "Inject 100 mg a week", 100, -1},
        PerTimeCase{"ShortForm", "100mg/wk SC", 100, -1},
        PerTimeCase{"SeveralDays", "100 mg per 14 days", 50, -1},
        PerTimeCase{"TwoWeeks", "100 mg/2 weeks", 50, -1}, PerTimeCase{"ADay", "10 mg/day", 70, -1},
        PerTimeCase{"InTwoDoses", "50 mg a week in two doses", 50, -1},
        PerTimeCase{"Divided", "100 mg weekly divided into 2 doses", 100, -1},
        PerTimeCase{"InDividedDoses", "100 mg weekly in divided doses", 100, -1},
        PerTimeCase{"TotalBehind", "2 mL weekly total", -1, 2000},
        PerTimeCase{"TotalBefore", "weekly total 2 mL", -1, 2000},
        PerTimeCase{"TotalWeeklyDose", "Total weekly dose: 100 mg", 100, -1},
        PerTimeCase{"TotalOf", "a total of 100 mg per week", 100, -1},
        PerTimeCase{"TotalWeekly", "total 100 mg weekly", 100, -1},
        PerTimeCase{"BesideTheDose", "Inject 50 mg (100 mg/week)", 100, -1},
        PerTimeCase{"BesideTheVolume", "Inject 0.25 mL, 0.25 mL per week", -1, 250},
        PerTimeCase{"BothKinds", "100 mg (0.5 mL) a week", 100, 500},
        PerTimeCase{"AgreesBesideADoseThatDoesNot", "Inject 100 mg, 50 mg/week", 100, -1},
        PerTimeCase{"ALimit", "Do not exceed 100 mg/week", -1, -1},
        PerTimeCase{"Speed", "Inject slowly at 1 mL/min, 50 mg/min at most", -1, -1},
        PerTimeCase{"DoseAndFrequency", "100 mg weekly", 100, -1},
        PerTimeCase{"DoseEveryWeek", "100 mg every week", 100, -1},
        PerTimeCase{"Later", "100 mg a week later", 100, -1},
        PerTimeCase{"AnotherSentence", "Inject 100 mg. A week after that, call us", 100, -1},
        PerTimeCase{"CountOfDoses", "100 mg weekly, total 4 doses", 100, -1},
        PerTimeCase{"PerDose", "100 mg per dose", 100, -1},
        PerTimeCase{"PerInjection", "100 mg/injection", 100, -1},
        PerTimeCase{"PerProtocol", "100 mg per protocol", 100, -1},
        PerTimeCase{"PerSide", "0.5 mL per side", -1, 500},
        PerTimeCase{"OfAVial", "Use the 200 mg/vial", -1, -1}),
    [](const auto& info) { return std::string(info.param.name); });

TEST_F(Complete, AnAmountPerTimeIsSharedByTheCodedDoses) {
  set(FieldId::Dose, "25 mg");
  set(FieldId::ScheduleEvery, "1 wk");
  set(FieldId::ScheduleTimes, "2");
  directions("50 mg a week in two doses");
  EXPECT_DOUBLE_EQ(value(FieldId::StatedDose).number, 25);
  EXPECT_DOUBLE_EQ(value(FieldId::StatedEvery).number, 7 * kDay);
  EXPECT_EQ(block.written(0, FieldId::StatedDose), "50 mg a week in two doses");
  EXPECT_EQ(block.origin(0, FieldId::StatedDose), (Origin{100, 25}));
}

TEST_F(Complete, DosesThatShareAnAmountAreComparedWithTheCodedFrequency) {
  set(FieldId::Dose, "50 mg");
  set(FieldId::ScheduleEvery, "1 wk");
  directions("50 mg weekly in two doses");
  EXPECT_DOUBLE_EQ(value(FieldId::StatedEvery).number, 3.5 * kDay);
}

TEST_F(Complete, AVolumePerTimeIsSharedByTheInjectionsOfADose) {
  set(FieldId::Volume, "1 mL");
  set(FieldId::Injections, "2");
  set(FieldId::ScheduleEvery, "1 wk");
  directions("2 mL weekly total");
  EXPECT_DOUBLE_EQ(value(FieldId::StatedVolume).number, 1000);
}

TEST_F(Complete, AVolumePerTimeIsComparedWithADoseByVolume) {
  set(FieldId::Dose, "1 mL");
  set(FieldId::ScheduleEvery, "1 wk");
  directions("2 mL/week");
  EXPECT_DOUBLE_EQ(value(FieldId::StatedDose).number, 2000);
  EXPECT_TRUE(block.doubts().empty());
}

TEST_F(Complete, AnAmountAMonthComparesWithMonths) {
  set(FieldId::Dose, "150 mg");
  set(FieldId::ScheduleEvery, "3 mo");
  directions("50 mg/month");
  EXPECT_DOUBLE_EQ(value(FieldId::StatedDose).number, 150);
}

TEST_F(Complete, AnAmountPerTimeInTheFrequencyIsComparedToo) {
  set(FieldId::ScheduleEvery, "1 wk");
  set(FieldId::ScheduleText, "100 mg per week");
  directions("Inject 50 mg");
  EXPECT_DOUBLE_EQ(value(FieldId::Dose).number, 50);
  EXPECT_DOUBLE_EQ(value(FieldId::StatedDose).number, 100);
}

TEST_F(Complete, ADoseByWeightAndDayIsThatOfOneDose) {
  set(FieldId::ScheduleEvery, "1 d");
  set(FieldId::ScheduleTimes, "3");
  directions("15 mg/kg/day in 3 divided doses");
  EXPECT_NEAR(value(FieldId::DosePerWeight).number, 5e-6, 1e-15);
}

/// What is in doubt where an amount per time cannot be compared.
TEST_F(Complete, AnAmountPerTimeNeedsAnInterval) {
  set(FieldId::Dose, "50 mg");
  directions("100 mg/week");
  ASSERT_EQ(block.doubts().size(), 1U);
  EXPECT_EQ(block.doubts().front().field, FieldId::StatedDose);
  EXPECT_EQ(block.doubts().front().reason,
            "`100 mg/week` is an amount per time and was not compared: the interval is not known");
  EXPECT_EQ(block.doubts().front().origin, (Origin{100, 11}));
}

TEST_F(Complete, AnAmountPerTimeNeedsADose) {
  set(FieldId::ScheduleEvery, "7 d");
  directions("2 mL weekly total, 100 mg/week");
  ASSERT_EQ(block.doubts().size(), 2U);
  EXPECT_EQ(block.doubts()[0].field, FieldId::Dose);
  EXPECT_EQ(block.doubts()[0].reason,
            "`100 mg/week` is an amount per time and was not compared: the dose is not known");
  EXPECT_EQ(block.doubts()[1].field, FieldId::Volume);
}

TEST_F(Complete, BesideAnAmountPerTimeNoDoseIsFilledIn) {
  directions("Inject 3 mg/day or 30 mg, 3 times a week");
  EXPECT_EQ(value(FieldId::Dose).state, State::Missing);
  ASSERT_EQ(block.doubts().size(), 1U);
  EXPECT_EQ(block.doubts().front().field, FieldId::Dose);
}

TEST_F(Complete, StepsHaveTheirAmountsPerTimeInTheDirectionsToo) {
  set(FieldId::ScheduleSteps, "dose=50 mg; dose=75 mg");
  directions("50 mg/week, then 75 mg/week");
  EXPECT_TRUE(block.doubts().empty());
}

TEST_F(Complete, AMonthIsNoFixedNumberOfDays) {
  set(FieldId::Dose, "50 mg");
  set(FieldId::ScheduleEvery, "28 d");
  directions("50 mg/month");
  ASSERT_EQ(block.doubts().size(), 1U);
  EXPECT_NE(block.doubts().front().reason.find("no fixed number of days"), std::string::npos);
}

TEST_F(Complete, AnOrderWithStepsHasNoOneDoseToCompareWith) {
  set(FieldId::Dose, "50 mg");
  set(FieldId::ScheduleEvery, "7 d");
  set(FieldId::ScheduleSteps, "dose=50 mg; dose=75 mg");
  directions("50 mg/week");
  ASSERT_EQ(block.doubts().size(), 1U);
  EXPECT_NE(block.doubts().front().reason.find("the order has steps"), std::string::npos);
}

TEST_F(Complete, TwoAmountsPerTimeAreInDoubt) {
  set(FieldId::Dose, "50 mg");
  set(FieldId::ScheduleEvery, "7 d");
  directions("50 mg/week, then 100 mg/week");
  ASSERT_EQ(block.doubts().size(), 1U);
  EXPECT_EQ(block.doubts().front().reason, "the directions give `50 mg/week` and `100 mg/week`");
}

TEST_F(Complete, AnAmountPerBodySurfaceIsInDoubt) {
  set(FieldId::Dose, "50 mg");
  directions("50 mg/m2 weekly");
  ASSERT_EQ(block.doubts().size(), 1U);
  EXPECT_EQ(block.doubts().front().field, FieldId::StatedDose);
  EXPECT_EQ(block.doubts().front().reason,
            "`50 mg/m2` is no amount of one dose and was not compared");
}

TEST_F(Complete, AnAmountPerBodySurfaceBesideTheDoseThatItComesTo) {
  set(FieldId::Dose, "15 mg");
  directions("10 mg/m2 once a week");
  EXPECT_TRUE(block.doubts().empty());
}

TEST_F(Complete, LongDirectionsAreReadToTheirEnd) {
  set(FieldId::Dose, "50 mg");
  set(FieldId::Route, "subcutaneous");
  std::string text;
  for (int i = 0; i < 500; ++i)
    text += "wash your hands ";
  text += "then inject 100 mg into the muscle";
  directions(text);
  EXPECT_DOUBLE_EQ(value(FieldId::StatedDose).number, 100);
  EXPECT_EQ(value(FieldId::StatedRoute).text, "intramuscular");
  EXPECT_TRUE(block.doubts().empty());
}

TEST_F(Complete, DirectionsLongerThanWhatIsReadAreInDoubt) {
  set(FieldId::Dose, "50 mg");
  std::string text = "inject 50 mg ";
  for (int i = 0; i < 700; ++i)
    text += "wash your hands ";
  text += "then inject 100 mg";
  directions(text);
  EXPECT_FALSE(value(FieldId::StatedDose).known());
  ASSERT_EQ(block.doubts().size(), 1U);
  EXPECT_EQ(block.doubts().front().field, FieldId::StatedDose);
  EXPECT_EQ(
      block.doubts().front().reason,
      "`order.directions` has more words than are read, and was not compared with the fields");
}

TEST_F(Complete, ANameLongerThanWhatIsReadIsInDoubtAndNoMedicine) {
  std::string text = "testosterone cypionate 200 mg/mL ";
  for (int i = 0; i < 2050; ++i)
    text += "x ";
  name(text);
  EXPECT_FALSE(value(FieldId::SubstanceCode).known());
  ASSERT_EQ(block.doubts().size(), 1U);
  EXPECT_EQ(block.doubts().front().field, FieldId::StatedStrength);
}

TEST_F(Complete, WithoutACodedVolumeTheVolumeIsInDoubt) {
  directions("Inject 0,5 mL weekly");
  ASSERT_EQ(block.doubts().size(), 1U);
  EXPECT_EQ(block.doubts().front().field, FieldId::Volume);
  EXPECT_EQ(block.doubts().front().written, "0,5 mL");
  EXPECT_EQ(block.doubts().front().origin, (Origin{107, 6}));
}

TEST_F(Complete, ThousandsThatTheCodedDoseHasAreNoDoubt) {
  set(FieldId::Dose, "5000 units");
  directions("Inject 5,000 units twice a day");
  EXPECT_TRUE(block.doubts().empty());
}

TEST_F(Complete, APlanInStepsHasItsDosesInTheDirectionsToo) {
  set(FieldId::Dose, "50 mg");
  set(FieldId::ScheduleSteps, "dose=50 mg; dose=75 mg");
  directions("50 mg now, then 75 mg");
  EXPECT_TRUE(block.doubts().empty());
}

TEST_F(Complete, AFractionBesideACodedVolumeIsCompared) {
  set(FieldId::Volume, "0.25 mL");
  directions("Inject \u00BD mL weekly");
  EXPECT_DOUBLE_EQ(value(FieldId::StatedVolume).number, 500);  // mm3
  EXPECT_EQ(block.written(0, FieldId::StatedVolume), "\u00BD mL");
}

TEST_F(Complete, PlacesInDirections) {
  directions("Inject IM into the left outer thigh");
  EXPECT_EQ(value(FieldId::Route).text, "intramuscular");
  EXPECT_EQ(value(FieldId::Site).text, "thigh");
  EXPECT_EQ(value(FieldId::Side).text, "left");
  EXPECT_EQ(block.written(0, FieldId::Site), "outer thigh");
}

TEST_F(Complete, TwoPlacesAreNone) {
  directions("left or right thigh or abdomen, SC or IM, right away");
  EXPECT_FALSE(value(FieldId::Route).known());
  EXPECT_FALSE(value(FieldId::Site).known());
  EXPECT_FALSE(value(FieldId::Side).known());
}

TEST_F(Complete, WhatIsRefusedIsNotSaid) {
  directions("Never give IV");
  EXPECT_FALSE(value(FieldId::Route).known());
}

TEST_F(Complete, BesideCodedFieldsTheTextIsStated) {
  set(FieldId::Dose, "25 mg");
  set(FieldId::Route, "intramuscular");
  set(FieldId::ScheduleEvery, "1 wk");
  directions("Inject 50 mg under the skin twice a week");
  EXPECT_DOUBLE_EQ(value(FieldId::Dose).number, 25);
  EXPECT_DOUBLE_EQ(value(FieldId::StatedDose).number, 50);
  EXPECT_EQ(value(FieldId::StatedRoute).text, "subcutaneous");
  // One dose in each coded week, two in the text's: 3.5 days against 7.
  EXPECT_DOUBLE_EQ(value(FieldId::StatedEvery).number, 3.5 * kDay);
  EXPECT_TRUE(block.from_text(0, FieldId::StatedDose));
  EXPECT_EQ(block.origin(0, FieldId::StatedDose), (Origin{107, 5}));
}

TEST_F(Complete, TheSameFrequencyAgrees) {
  set(FieldId::ScheduleEvery, "1 wk");
  set(FieldId::ScheduleTimes, "2");
  directions("twice a week");
  EXPECT_DOUBLE_EQ(value(FieldId::StatedEvery).number, 7 * kDay);
}

TEST_F(Complete, AFieldInDoubtIsNotFilledFromText) {
  set(FieldId::Volume, "0,25 mL");
  directions("Inject 0.25 mL");
  EXPECT_EQ(value(FieldId::Volume).state, State::Missing);
  EXPECT_TRUE(value(FieldId::StatedVolume).known());
}

TEST_F(Complete, ANamesRouteFillsButIsNeverCompared) {
  set(FieldId::Route, "subcutaneous");
  name("testosterone cypionate 200 mg/mL intramuscular solution");
  EXPECT_EQ(value(FieldId::Route).text, "subcutaneous");
  EXPECT_FALSE(value(FieldId::StatedRoute).known());
}

TEST_F(Complete, TheCodeIsTheLongestKnownStartOfTheName) {
  name("insulin glargine 100 units/mL");
  EXPECT_EQ(value(FieldId::SubstanceCode).text, "insulin-glargine");
  EXPECT_EQ(block.written(0, FieldId::SubstanceCode), "insulin glargine");
}

TEST_F(Complete, APartOfANameIsNoMedicine) {
  name("insulin something-new 100 units/mL");
  EXPECT_FALSE(value(FieldId::SubstanceCode).known());
}

TEST_F(Complete, ACodeThatTheTableKnowsStays) {
  set(FieldId::SubstanceCode, "enoxaparin");
  name("insulin glargine 100 units/mL");
  EXPECT_EQ(value(FieldId::SubstanceCode).text, "enoxaparin");
}

TEST_F(Complete, AgeIsCompletedMonthsAndDays) {
  set(FieldId::PatientBorn, "2025-12-31");
  set(FieldId::ScheduleStart, "2026-03-02");
  complete(context(), block, 0);
  // Two months to the last of February, then two days.
  EXPECT_DOUBLE_EQ(value(FieldId::PatientAge).number, 2 * 2629800 + 2 * kDay);
}

TEST_F(Complete, AnAgeNeedsADayToCountTo) {
  set(FieldId::PatientBorn, "1988-04-02");
  complete(context(), block, 0);
  EXPECT_FALSE(value(FieldId::PatientAge).known());
}

TEST_F(Complete, BornAfterTheOrderIsInDoubt) {
  set(FieldId::PatientBorn, "2027-01-01");
  set(FieldId::OrderPlaced, "2026-03-02");
  complete(context(), block, 0);
  ASSERT_EQ(block.doubts().size(), 1U);
  EXPECT_EQ(block.doubts().front().field, FieldId::PatientBorn);
}

TEST_F(Complete, ARouteThatIsNoInjectionIsOutside) {
  Table routes;
  routes.name = "routes";
  routes.columns.resize(2);
  routes.columns[0].name = "route";
  routes.columns[1].name = "injection";
  for (const char* route : {"intravenous", "oral"}) {
    routes.cells.push_back(Value::word(word_hash(route), route));
    routes.cells.push_back(Value::yes_no(std::string_view(route) != "oral"));
  }
  program.tables.push_back(std::move(routes));
  set(FieldId::Route, "intravenous");
  complete(context(), block, 0);
  EXPECT_EQ(block.record(0).kind, RecordKind::Order);
  set(FieldId::Route, "oral");
  complete(context(), block, 0);
  EXPECT_EQ(block.record(0).kind, RecordKind::Outside);
  EXPECT_EQ(block.record(0).reason, "the route `oral` is no injection");
}

TEST_F(Complete, ALongTextIsNotReadInPart) {
  std::string text = "Inject 50 mg.";
  for (int i = 0; i < 2048; ++i)
    text += " word";
  directions(text);
  EXPECT_FALSE(value(FieldId::Dose).known());
}

}  // namespace
}  // namespace meniscus::engine
