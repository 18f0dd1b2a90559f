// Text of a field into a block: what each kind of field takes, and what it refuses.
//
// Sources: dates, ISO 8601; body mass, UCUM `kg`; 5/8 in = 15.875 mm by the inch of 25.4 mm
//          (international yard and pound agreement of 1959); one month = 30.4375 d (UCUM `mo`).
//          Which notations are doubtful follows the ISMP list of error-prone abbreviations and
//          symbols (from memory).
#include <gtest/gtest.h>

#include "engine/order/field_text.hpp"

namespace meniscus::engine {
namespace {

constexpr Origin kHere{7, 3};

class FieldText : public ::testing::Test {
 protected:
  FieldText() {
    program_.vocabularies[index(FieldId::Route)].add("SC", "subcutaneous");
    program_.vocabularies[index(FieldId::Route)].add("subcutaneous", "subcutaneous");
    program_.vocabularies[index(FieldId::SubstanceCode)].add("cyanocobalamin", "cyanocobalamin");
    program_.vocabularies[index(FieldId::PatientAllergies)].add("sesame", "sesame-oil");
    block_.add_lane();
  }
  void set(FieldId field, std::string_view text) {
    set_field({&program_, &feed_}, block_, 0, field, text, kHere);
  }
  Value value(FieldId field) const { return block_.value(0, field); }
  std::string doubt() const { return block_.doubts().empty() ? "" : block_.doubts().back().reason; }

  Program program_;
  Feed feed_;
  OrderBlock block_;
};

TEST_F(FieldText, KeepsTheTextAndThePlace) {
  set(FieldId::Volume, " 0.25 mL ");
  EXPECT_DOUBLE_EQ(value(FieldId::Volume).number, 250);  // mm3
  EXPECT_EQ(block_.written(0, FieldId::Volume), "0.25 mL");
  EXPECT_EQ(block_.origin(0, FieldId::Volume), kHere);
  EXPECT_FALSE(block_.from_text(0, FieldId::Volume));
}

TEST_F(FieldText, AnEmptyTextSetsNothing) {
  set(FieldId::Volume, "  ");
  EXPECT_EQ(block_.column(FieldId::Volume).present, 0U);
}

struct Good {
  std::string_view name;
  FieldId field;
  std::string_view text;
  double number;
};
class TakesText : public FieldText, public ::testing::WithParamInterface<Good> {};
TEST_P(TakesText, AsTheFieldsKindSays) {
  set(GetParam().field, GetParam().text);
  ASSERT_EQ(value(GetParam().field).state, State::Known) << doubt();
  EXPECT_DOUBLE_EQ(value(GetParam().field).number, GetParam().number);
  EXPECT_TRUE(block_.doubts().empty());
}
std::ostream& operator<<(std::ostream& out, const Good& good) { return out << good.text; }
INSTANTIATE_TEST_SUITE_P(
    Good, TakesText,
    ::testing::Values(Good{"Mass", FieldId::Dose, "50 mg", 50},
                      Good{"Units", FieldId::Dose, "10 units", 10},
                      Good{"DoseByVolume", FieldId::Dose, "0.5 mL", 500},
                      Good{"BodyMass", FieldId::PatientWeight, "71 kg", 71e6},
                      Good{"Strength", FieldId::Strength, "100 mg/5 mL", 0.02},
                      Good{"Fraction", FieldId::NeedleLength, "5/8 in", 15.875},
                      Good{"Gauge", FieldId::NeedleGauge, "25 G", 25},
                      Good{"Count", FieldId::SupplyVials, "12", 12},
                      Good{"CountOfNone", FieldId::SupplyRefills, "0", 0},
                      Good{"Week", FieldId::ScheduleEvery, "1 wk", 604800},
                      Good{"WeekInWords", FieldId::ScheduleEvery, "weekly", 604800},
                      Good{"TwoWeeksInWords", FieldId::ScheduleEvery, "every 2 weeks", 1209600},
                      Good{"ShortForm", FieldId::ScheduleEvery, "q12h", 43200},
                      Good{"Date", FieldId::ScheduleStart, "1970-01-02", 86400},
                      Good{"MonthEnd", FieldId::VialExpires, "1970-01", 30 * 86400.0},
                      Good{"OrderEndsWithItsMonth", FieldId::ScheduleEnd, "1970-01", 30 * 86400.0},
                      Good{"OrderEndsWithItsYear", FieldId::ScheduleEnd, "1970", 364 * 86400.0},
                      Good{"BornInAMonth", FieldId::PatientBorn, "1970-02", 31 * 86400.0},
                      Good{"Yes", FieldId::VialGraduated, "Yes", 1},
                      Good{"No", FieldId::SelfInjected, "false", 0},
                      Good{"UnbreakableBlank", FieldId::Dose, "50\u00A0mg", 50},
                      Good{"ThinBlank", FieldId::Strength, "200\u2009mg\u202F/\u00A0mL", 0.2},
                      Good{"BlankAtTheEnd", FieldId::NeedleGauge, "25\u00A0G\u00A0", 25},
                      Good{"BlanksInWords", FieldId::ScheduleEvery, "every\u00A02\u00A0weeks",
                           1209600},
                      Good{"Marks", FieldId::Marks, "10 marks", 10}),
    [](const auto& info) { return std::string(info.param.name); });

struct Bad {
  std::string_view name;
  FieldId field;
  std::string_view text;
  std::string_view reason;  // a part of it
};
class RefusesText : public FieldText, public ::testing::WithParamInterface<Bad> {};
TEST_P(RefusesText, WithAReasonAndKeepsIt) {
  set(GetParam().field, GetParam().text);
  EXPECT_EQ(value(GetParam().field).state, State::Missing);
  ASSERT_EQ(block_.doubts().size(), 1U);
  EXPECT_NE(doubt().find(GetParam().reason), std::string::npos) << doubt();
  EXPECT_EQ(block_.doubts().front().written, GetParam().text);
  EXPECT_EQ(block_.doubts().front().origin, kHere);
}
std::ostream& operator<<(std::ostream& out, const Bad& bad) { return out << bad.text; }
INSTANTIATE_TEST_SUITE_P(
    Bad, RefusesText,
    ::testing::Values(Bad{"NoUnit", FieldId::Dose, "50", "no unit"},
                      Bad{"DecimalComma", FieldId::Volume, "0,25 mL", "comma"},
                      Bad{"ThousandOrOne", FieldId::Dose, "1.000 units", "1.000"},
                      Bad{"BlankOfNoWidth", FieldId::Dose, "50\u200Bmg", "unknown unit"},
                      Bad{"WrongDimension", FieldId::Volume, "5 mg", "is mass; volume is volume"},
                      Bad{"MarksAreNoDose", FieldId::Dose, "10 marks", "a mass, biological units"},
                      Bad{"StrengthOfLength", FieldId::Strength, "5 mm", "strength"},
                      Bad{"Negative", FieldId::Volume, "-1 mL", "below zero"},
                      Bad{"Zero", FieldId::Dose, "0 mg", "is zero"},
                      Bad{"HalfAVial", FieldId::SupplyVials, "1.5", "whole number"},
                      Bad{"NegativeCount", FieldId::SupplyVials, "-1", "negative"},
                      Bad{"Exponent", FieldId::Dose, "1e309 mg", "1e309"},
                      Bad{"Slashes", FieldId::ScheduleStart, "03/04/2026", "two ways"},
                      Bad{"NoSuchDay", FieldId::ScheduleStart, "2026-02-30", "no such day"},
                      Bad{"LastGivenInAMonth", FieldId::ScheduleLastGiven, "2026-02", "no day"},
                      Bad{"LastGivenInAYear", FieldId::ScheduleLastGiven, "2026", "no day"},
                      Bad{"StartsInAMonth", FieldId::ScheduleStart, "2026-03", "no day"},
                      Bad{"OpenedInAMonth", FieldId::VialOpened, "2026-02", "no day"},
                      Bad{"PlacedInAMonth", FieldId::OrderPlaced, "2026-03", "no day"},
                      Bad{"Biweekly", FieldId::ScheduleEvery, "biweekly", "two ways"},
                      Bad{"RangeOfVolumes", FieldId::Volume, "0.2-0.3 mL", "is a range"},
                      Bad{"Backwards", FieldId::Dose, "100-50 mg", "larger to the smaller"},
                      Bad{"NeitherYesNorNo", FieldId::SelfInjected, "maybe", "neither"},
                      Bad{"NoAction", FieldId::OrderAction, "discontinue", "is no action"}),
    [](const auto& info) { return std::string(info.param.name); });

TEST_F(FieldText, AThousandWithAThinBlankIsInDoubt) {
  set(FieldId::Dose, "5\u202F000 units");  // the grouping of ISO 80000-1
  EXPECT_EQ(value(FieldId::Dose).state, State::Missing);
  EXPECT_NE(doubt().find("blank inside the number"), std::string::npos) << doubt();
}

TEST_F(FieldText, AnIdKeepsItsBlanks) {
  set(FieldId::PatientId, "SM\u00A012");
  EXPECT_EQ(value(FieldId::PatientId).text, "SM\u00A012");
  EXPECT_EQ(value(FieldId::PatientId).aux, id_hash("SM\u00A012"));
}

TEST_F(FieldText, ARangeOfDosesHasTwoEnds) {
  set(FieldId::Dose, "50-100 mg");
  EXPECT_DOUBLE_EQ(value(FieldId::Dose).number, 50);
  EXPECT_DOUBLE_EQ(value(FieldId::DoseHigh).number, 100);
  EXPECT_EQ(block_.written(0, FieldId::DoseHigh), "50-100 mg");
}

TEST_F(FieldText, ADosePerKilogramGoesWhereItBelongs) {
  set(FieldId::Dose, "1 mg/kg");
  EXPECT_EQ(value(FieldId::Dose).state, State::Missing);
  EXPECT_DOUBLE_EQ(value(FieldId::DosePerWeight).number, 1e-6);
  EXPECT_TRUE(block_.doubts().empty());
}

TEST_F(FieldText, TwiceAWeekIsTwoDosesInAWeek) {
  set(FieldId::ScheduleEvery, "twice a week");
  EXPECT_DOUBLE_EQ(value(FieldId::ScheduleEvery).number, 604800);
  EXPECT_DOUBLE_EQ(value(FieldId::ScheduleTimes).number, 2);
}

TEST_F(FieldText, WordsGoThroughTheVocabulary) {
  set(FieldId::Route, "sc");
  EXPECT_EQ(value(FieldId::Route).aux, word_hash("subcutaneous"));
  EXPECT_EQ(value(FieldId::Route).text, "subcutaneous");
  EXPECT_EQ(block_.written(0, FieldId::Route), "sc");
}

TEST_F(FieldText, AWordThatNoRowKnowsIsKeptAsWritten) {
  set(FieldId::Route, "sideways");
  EXPECT_EQ(value(FieldId::Route).state, State::Known);
  EXPECT_EQ(value(FieldId::Route).aux, kNoWord);
  EXPECT_EQ(value(FieldId::Route).text, "sideways");
}

TEST_F(FieldText, ACodeOfItsOwnComparesByItsText) {
  set(FieldId::SubstanceCode, "local-17");
  EXPECT_EQ(value(FieldId::SubstanceCode).aux, word_hash("local-17"));
}

TEST_F(FieldText, IdsCompareLetterForLetter) {
  EXPECT_NE(id_hash("SM-0012"), id_hash("sm-0012"));
  EXPECT_NE(id_hash("SM-0012"), id_hash("SM 0012"));
  EXPECT_EQ(id_hash("SM-0012"), id_hash(std::string("SM-") + "0012"));
  set(FieldId::PatientId, "SM-0012");
  EXPECT_EQ(value(FieldId::PatientId).aux, id_hash("SM-0012"));
}

TEST_F(FieldText, NoneIsKnownToBeNone) {
  set(FieldId::VialOpened, "none");
  EXPECT_EQ(value(FieldId::VialOpened).state, State::None);
  set(FieldId::PatientId, "none");
  EXPECT_EQ(value(FieldId::PatientId).text, "none");
}

TEST_F(FieldText, TheFeedTranslatesUnitsAndWords) {
  feed_.units["Einh"] = "units";
  feed_.words[FieldId::Route]["s.k."] = "subcutaneous";
  set(FieldId::Dose, "10 Einh");
  set(FieldId::Route, "s.k.");
  EXPECT_EQ(value(FieldId::Dose).aux, dim::kBiological.bits());
  EXPECT_EQ(block_.written(0, FieldId::Dose), "10 Einh");
  EXPECT_EQ(value(FieldId::Route).text, "subcutaneous");
}

TEST_F(FieldText, TheFeedDeclaresItsDecimalAndDates) {
  feed_.decimal = DecimalMark::Comma;
  feed_.date_order = DateOrder::Dmy;
  feed_.offset_minutes = 60;
  set(FieldId::Volume, "0,25 mL");
  set(FieldId::OrderPlaced, "02.03.2026 09:14");
  EXPECT_DOUBLE_EQ(value(FieldId::Volume).number, 250);
  const Date placed = unpack(value(FieldId::OrderPlaced).number, value(FieldId::OrderPlaced).aux);
  EXPECT_EQ(format_date(placed), "2026-03-02T09:14+01:00");
}

TEST_F(FieldText, ANumberAndItsUnitMayStandApart) {
  set_quantity({&program_, &feed_}, block_, 0, FieldId::Dose, "50", "mg", kHere);
  EXPECT_DOUBLE_EQ(value(FieldId::Dose).number, 50);
  EXPECT_EQ(block_.written(0, FieldId::Dose), "50 mg");
  set_quantity({&program_, &feed_}, block_, 0, FieldId::Volume, "0.25", "", kHere);
  EXPECT_NE(doubt().find("no unit"), std::string::npos);
}

TEST_F(FieldText, ListsOfWords) {
  set(FieldId::PatientAllergies, "sesame; latex");
  const Value allergies = value(FieldId::PatientAllergies);
  ASSERT_EQ(OrderBlock::item_count(allergies.aux), 2U);
  EXPECT_EQ(block_.items(allergies.aux)[0].self.text, "sesame-oil");
  EXPECT_EQ(block_.items(allergies.aux)[1].self.aux, kNoWord);
  EXPECT_EQ(block_.items(allergies.aux)[1].origin.offset, kHere.offset + 8);
}

TEST_F(FieldText, ListsOfParts) {
  set(FieldId::ScheduleSteps, "dose=0.25 mg every=1 wk lasts=4 wk; dose = 0.5 mg every=1 wk");
  const Value steps = value(FieldId::ScheduleSteps);
  ASSERT_EQ(OrderBlock::item_count(steps.aux), 2U) << doubt();
  const ListItem& first = block_.items(steps.aux)[0];
  EXPECT_DOUBLE_EQ(first.parts[static_cast<std::size_t>(ItemField::Dose)].number, 0.25);
  EXPECT_DOUBLE_EQ(first.parts[static_cast<std::size_t>(ItemField::Lasts)].number, 2419200);
  const ListItem& second = block_.items(steps.aux)[1];
  EXPECT_FALSE(second.parts[static_cast<std::size_t>(ItemField::Lasts)].known());
}

TEST_F(FieldText, AListWithABadPartIsInDoubt) {
  set(FieldId::ScheduleSteps, "dose=0.25 mg every=1 wk; dose=0.5");
  EXPECT_EQ(value(FieldId::ScheduleSteps).state, State::Missing);
  EXPECT_NE(doubt().find("no unit"), std::string::npos);
  set(FieldId::Components, "dosage=5 mg");
  EXPECT_NE(doubt().find("`dosage` is no part"), std::string::npos);
}

}  // namespace
}  // namespace meniscus::engine
