// Quantities, strengths, ranges and gauges from text.
//
// Checked against: UCUM definitions (tests/reference/units/ucum_test.cpp has the case file); the
// percent and ratio conventions as restated in ISMP's article on percentages and ratios; ISO 9626
// for the range of gauges.  The trade's spellings are common practice.
#include "engine/quantity/quantity.hpp"

#include <gtest/gtest.h>

#include <ostream>

namespace meniscus::engine {
namespace {

using namespace std::string_literals;

struct Case {
  std::string_view name;
  std::string text;
  double value = 0;  // base units
  Dimension dimension;
};
std::ostream& operator<<(std::ostream& os, const Case& c) { return os << c.text; }
std::string name_of(const ::testing::TestParamInfo<Case>& info) {
  return std::string(info.param.name);
}

const Case kReadable[] = {
    {"Milligrams", "2.5 mg", 2.5, dim::kMass},
    {"RunTogether", "0.25mL", 250, dim::kVolume},
    {"SeveralBlanks", " 5   mg ", 5, dim::kMass},
    {"TradeMicrogram", "300 mcg", 0.3, dim::kMass},
    {"MicroSign", "300 \u00B5g", 0.3, dim::kMass},
    {"GreekMu", "300 \u03BCg", 0.3, dim::kMass},
    {"UpperCase", "5 MG", 5, dim::kMass},
    {"TitleCase", "5 Mg", 5, dim::kMass},
    {"UpperMillilitre", "5 ML", 5000, dim::kVolume},
    {"CubicCentimetre", "3 cc", 3000, dim::kVolume},
    {"Gm", "1 gm", 1000, dim::kMass},
    {"GmUpper", "1 GM", 1000, dim::kMass},
    {"GmTitle", "1 Gm", 1000, dim::kMass},
    {"Units", "100 UNITS", 100, dim::kBiological},
    {"OneUnit", "1 unit", 1, dim::kBiological},
    {"UAlone", "40 U", 40, dim::kBiological},
    {"Unt", "40 UNT", 40, dim::kBiological},
    {"SpanishUnits", "40 UI", 40, dim::kBiological},
    {"GermanUnits", "40 IE", 40, dim::kBiological},
    {"Iu", "40 IU", 40, dim::kBiological},
    {"InternationalUnits", "40 international units", 40, dim::kBiological},
    {"ThousandsOfUnits", "5,000 units", 5000, dim::kBiological},
    {"HundredsOfThousands", "600,000 IU", 600000, dim::kBiological},
    {"UnitsForEachMillilitre", "40,000 units/mL", 40, dim::kBiologicalPerVolume},
    {"MillionUnits", "2.4 million units", 2400000, dim::kBiological},
    {"UcumIu", "40 [IU]", 40, dim::kBiological},
    {"UcumKiloIu", "4 k[IU]", 4000, dim::kBiological},
    {"PerKilogram", "1 mg/kg", 1e-6, dim::kMass / dim::kBodyMass},
    {"PerPound", "1 mg/lb", 1 / 453592.37, dim::kMass / dim::kBodyMass},
    {"PerKilogramPerDay", "24 mg/kg/day", 24 / 1e6 / 86400,
     dim::kMass / dim::kBodyMass / dim::kTime},
    {"PerSpelt", "5 mg per mL", 0.005, dim::kMassPerVolume},
    {"BlanksAtSlash", "5 mg / mL", 0.005, dim::kMassPerVolume},
    {"UpperPerMl", "5 MCG/ML", 5e-6, dim::kMassPerVolume},
    {"TrailingStop", "5 mg.", 5, dim::kMass},
    {"Fraction", "5/8 in", 15.875, dim::kLength},
    {"MixedFraction", "1 1/2 in", 38.1, dim::kLength},
    {"InchMark", "1\"", 25.4, dim::kLength},
    {"Inches", "2 inches", 50.8, dim::kLength},
    {"Days", "7 days", 604800, dim::kTime},
    {"Week", "1 wk", 604800, dim::kTime},
    {"WeeksUpper", "2 WEEKS", 1209600, dim::kTime},
    {"Month", "1 month", 2629800, dim::kTime},
    {"Years", "18 years", 18 * 31557600.0, dim::kTime},
    {"Milliequivalents", "20 mEq", 0.02, dim::kEquivalent},
    {"TitleMilliequivalents", "20 Meq", 0.02, dim::kEquivalent},
    {"TitleMillimoles", "20 Mmol", 0.02, dim::kAmountOfSubstance},
    {"Percent", "20 %", 0.2, dim::kNumber},
    {"Marks", "12 marks", 12, dim::kMark},
    {"PerMark", "0.01 mL/mark", 10, dim::kVolumePerMark},
    {"Celsius", "25 Cel", 298.15, dim::kTemperature},
    {"Viscosity", "40 mPa.s", 40, dim::kViscosity},
    {"Centipoise", "40 cP", 40, dim::kViscosity},
    {"Newton", "10 N", 1e10, dim::kForce},
    {"Negative", "-5 mg", -5, dim::kMass},
    {"NoLeadingZero", ".5 mL", 500, dim::kVolume},
};

class QuantityFromText : public ::testing::TestWithParam<Case> {};
TEST_P(QuantityFromText, IsInBaseUnits) {
  const Case& c = GetParam();
  const Result<AnyQuantity> read = parse_quantity(c.text);
  ASSERT_TRUE(read) << read.error().message;
  EXPECT_EQ(compare(read->value, c.value), 0) << read->value;
  EXPECT_EQ(read->dimension, c.dimension) << describe(read->dimension);
}
INSTANTIATE_TEST_SUITE_P(Orders, QuantityFromText, ::testing::ValuesIn(kReadable), name_of);

struct Refused {
  std::string_view name;
  std::string text;
  Errc code;
  std::string_view says;  // part of the message
};
std::ostream& operator<<(std::ostream& os, const Refused& c) { return os << c.text; }

const Refused kRefused[] = {
    {"NoUnit", "5", Errc::MissingUnit, "`5` has no unit"},
    {"NoNumber", "mg", Errc::NotANumber, "does not start with a number"},
    {"Empty", "", Errc::NotANumber, "missing"},
    {"Scale", "U-100", Errc::NotANumber, ""},
    {"Grain", "5 gr", Errc::Ambiguous, "grain or gram"},
    {"MilliOrMega", "3 mU", Errc::Ambiguous, "thousandths or millions"},
    {"MegaOrMilli", "3 MU", Errc::Ambiguous, "thousandths or millions"},
    {"MilliIu", "3 mIU", Errc::Ambiguous, "thousandths or millions"},
    {"Thousand", "5 K", Errc::Ambiguous, "thousand or kelvin"},
    {"ThousandWithExponent", "5 K2", Errc::Ambiguous, "`K` can be read in two ways: thousand or"},
    {"OneOverThousand", "5 mg.K-1", Errc::Ambiguous, "thousand or kelvin"},
    {"ThousandOrMillion", "5 M", Errc::Ambiguous, "million"},
    {"Ounce", "5 oz", Errc::Ambiguous, "ounce of mass or of volume"},
    {"Drops", "5 gtt", Errc::Ambiguous, "drop"},
    {"BlankInNumber", "10 000 units", Errc::Ambiguous, "blank inside the number"},
    {"DecimalComma", "0,25 mL", Errc::Ambiguous, "has a comma where this feed writes a point"},
    {"Typo", "5 mcq", Errc::UnknownUnit, "nearest is `mcg`"},
    {"Stones", "11 st", Errc::UnknownUnit,
     "unknown unit `st`; stones are not read: write `kg` or `lb`"},
    {"StonesInFull", "11 stone", Errc::UnknownUnit, "write `kg` or `lb`"},
    {"Nonsense", "5 xyzzy", Errc::UnknownUnit, "unknown unit `xyzzy`"},
    {"Tablets", "2 tablets", Errc::UnknownUnit, ""},
    {"DoubleSlash", "5 mg//mL", Errc::Syntax, ""},
    {"OpenBracket", "5 mg/(mL", Errc::Syntax, "not closed"},
    {"TwoQuantities", "5 mg 3 mL", Errc::UnknownUnit, ""},
    {"TooManyParts", "5 m.m.m.m.m.m.m.m.m.m.m.m.m", Errc::Syntax, "too many"},
    {"ExponentTooLarge", "5 m99", Errc::Syntax, "exponent"},
    {"TooDeep", "5 (((((mg)))))", Errc::Syntax, "too deep"},
    {"TooLong", "5 " + std::string(70, 'm'), Errc::Syntax, "too long"},
    {"NulByte", "5 mg\0"s, Errc::Syntax, "NUL"},
    {"CelsiusInProduct", "5 mg/Cel", Errc::Syntax, "a scale with an offset"},
    {"InvalidUtf8", "5 \xff\xfe", Errc::UnknownUnit, ""},
    {"Overflow", std::string(308, '9') + " kg", Errc::OutOfRange, ""},
};

class QuantityRefused : public ::testing::TestWithParam<Refused> {};
TEST_P(QuantityRefused, SaysWhy) {
  const Refused& c = GetParam();
  const Result<AnyQuantity> read = parse_quantity(c.text);
  ASSERT_FALSE(read);
  EXPECT_EQ(read.error().code, c.code) << read.error().message;
  EXPECT_NE(read.error().message.find(c.says), std::string::npos) << read.error().message;
}
INSTANTIATE_TEST_SUITE_P(Orders, QuantityRefused, ::testing::ValuesIn(kRefused),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(QuantityText, BodyMassStyle) {
  const QuantityStyle style{.body_mass = true};
  EXPECT_EQ(parse_quantity("71 kg", style)->dimension, dim::kBodyMass);
  EXPECT_EQ(compare(parse_quantity("154 lb", style)->value, 69.85322498e6), 0);
  EXPECT_EQ(parse_quantity("178 cm", style)->dimension, dim::kLength);
}

TEST(QuantityText, PartsThatStandApart) {
  const auto read = [](std::string_view number, std::string_view unit) {
    return parse_quantity_parts(number, unit);
  };
  EXPECT_EQ(read("50", "mg")->value, 50);
  EXPECT_EQ(read("300", "mcg")->value, parse_quantity("0.3 mg")->value);
  EXPECT_EQ(read("50", "").error().code, Errc::MissingUnit);
  EXPECT_EQ(read("50 mg", "mg").error().code, Errc::NotANumber);
  EXPECT_EQ(read("", "mg").error().code, Errc::NotANumber);
  EXPECT_FALSE(read("50", "75 mg"));
}

TEST(QuantityText, RuleUnitsAreAClosedList) {
  for (const std::string_view unit : rule_units())
    EXPECT_TRUE(parse_unit(unit, UnitSet::Rule)) << unit;
  for (const std::string_view unit : {"mg/mL", "mg/kg", "units/mL", "mL/mark", "mg/kg/day", "mL/s",
                                      "units/kg/day", "mg/day", "mPa.s"})
    EXPECT_TRUE(parse_unit(unit, UnitSet::Rule)) << unit;
  for (const std::string_view unit : {"MG", "ml", "cc", "U", "iu", "[IU]", "gr", "tonne", "hr", ""})
    EXPECT_FALSE(parse_unit(unit, UnitSet::Rule)) << unit;
}

TEST(QuantityText, SetsDifferWhereTheTradeAndUcumDo) {
  EXPECT_EQ(parse_unit("U", UnitSet::Ucum)->dimension, dim::kAmountOfSubstance / dim::kTime);
  EXPECT_EQ(parse_unit("U", UnitSet::Order)->dimension, dim::kBiological);
  EXPECT_EQ(parse_unit("ML", UnitSet::Ucum)->factor, 1e12);
  EXPECT_EQ(parse_unit("ML", UnitSet::Order)->factor, 1e3);
  EXPECT_FALSE(parse_unit("mcg", UnitSet::Ucum));
  EXPECT_FALSE(parse_unit("MG", UnitSet::Ucum));
}

struct StrengthCase {
  std::string_view text;
  double per_millilitre;  // mg or units in one mL
  Dimension amount;
};

TEST(StrengthText, EveryNotation) {
  const StrengthCase cases[] = {
      {"200 mg/mL", 200, dim::kMass},   {"100 mg/5 mL", 20, dim::kMass},
      {"80mg/0.8mL", 100, dim::kMass},  {"100 mg per 5 mL", 20, dim::kMass},
      {"10 mg in 2 mL", 5, dim::kMass}, {"1 % w/v", 10, dim::kMass},
      {"1 %", 10, dim::kMass},          {"0.25%", 2.5, dim::kMass},
      {"1:1000", 1, dim::kMass},        {"1:10,000", 0.1, dim::kMass},
      {"1:100 000", 0.01, dim::kMass},  {"100 units/mL", 100, dim::kBiological},
      {"U-100", 100, dim::kBiological}, {"U500", 500, dim::kBiological},
      {"u-40", 40, dim::kBiological},   {"30 mg/0.3 mL", 100, dim::kMass},
      {"5 g/100 mL", 50, dim::kMass},   {"40000 UNITS/ML", 40000, dim::kBiological},
      {".5 mg/mL", 0.5, dim::kMass},    {"500 mg/2.5 mL", 200, dim::kMass}};
  for (const StrengthCase& c : cases) {
    const Result<AnyQuantity> read = parse_strength(c.text);
    ASSERT_TRUE(read) << c.text << ": " << read.error().message;
    EXPECT_EQ(read->dimension, c.amount / dim::kVolume) << c.text;
    EXPECT_EQ(compare(read->value * 1000, c.per_millilitre), 0) << c.text;
  }
}

TEST(StrengthText, WhatIsNoStrength) {
  const std::pair<std::string_view, Errc> cases[] = {{"5 mg", Errc::DimensionMismatch},
                                                     {"5 mL", Errc::DimensionMismatch},
                                                     {"5 mg/kg", Errc::DimensionMismatch},
                                                     {"1 % w/w", Errc::Ambiguous},
                                                     {"1:100 v/v", Errc::Ambiguous},
                                                     {"2:100", Errc::NotANumber},
                                                     {"1:0", Errc::NotANumber},
                                                     {"1:", Errc::NotANumber},
                                                     {"100 mg/0 mL", Errc::OutOfRange},
                                                     {"100 mg/5", Errc::MissingUnit},
                                                     {"", Errc::NotANumber},
                                                     {"mg/mL", Errc::NotANumber},
                                                     {"U-", Errc::NotANumber},
                                                     {"units", Errc::NotANumber},
                                                     {"1,000 mcg/mL", Errc::Ambiguous},
                                                     {"1,000 %", Errc::Ambiguous},
                                                     {"0,500 units/mL", Errc::Ambiguous},
                                                     {"100", Errc::MissingUnit}};
  for (const auto& [text, code] : cases) {
    const Result<AnyQuantity> read = parse_strength(text);
    ASSERT_FALSE(read) << text;
    EXPECT_EQ(read.error().code, code) << text << ": " << read.error().message;
  }
}

TEST(RangeText, LowAndHigh) {
  const auto check = [](std::string_view text, double low, double high) {
    const Result<QuantityRange> range = parse_range(text);
    ASSERT_TRUE(range) << text << ": " << range.error().message;
    EXPECT_EQ(compare(range->low.value, low), 0) << text;
    EXPECT_EQ(compare(range->high.value, high), 0) << text;
  };
  check("3-6 mL", 3000, 6000);
  check("50 to 100 mg", 50, 100);
  check("50 mg to 100 mg", 50, 100);
  check("50mg-0.1g", 50, 100);
  check("0.5\u20131 mL", 500, 1000);
  check("50 mg", 50, 50);
  check("1/2 - 1 mL", 500, 1000);
  EXPECT_EQ(parse_range("6-3 mL").error().code, Errc::Ambiguous);
  EXPECT_EQ(parse_range("3 mg - 6 mL").error().code, Errc::DimensionMismatch);
  EXPECT_FALSE(parse_range("3-6"));
  EXPECT_FALSE(parse_range("-"));
  EXPECT_FALSE(parse_range(""));
}

TEST(GaugeText, WholeNumbersFromSixToThirtyFour) {
  for (const std::string_view text : {"25 G", "25G", "25 gauge", "25", "25 ga", " 25g "})
    EXPECT_EQ(*parse_gauge(text), 25) << text;
  EXPECT_EQ(*parse_gauge("6"), 6);
  EXPECT_EQ(*parse_gauge("34G"), 34);
  for (const std::string_view text : {"5", "35", "0", "999", "99999"})
    EXPECT_EQ(parse_gauge(text).error().code, Errc::OutOfRange) << text;
  for (const std::string_view text : {"", "G", "25.5", "25 mm", "-25", "x"})
    EXPECT_FALSE(parse_gauge(text)) << text;
}

TEST(Describe, DimensionsInWords) {
  EXPECT_EQ(describe(dim::kNumber), "number");
  EXPECT_EQ(describe(dim::kMass), "mass");
  EXPECT_EQ(describe(dim::kMassPerVolume), "mass per volume");
  EXPECT_EQ(describe(dim::kBiologicalPerVolume), "biological units per volume");
  EXPECT_EQ(describe(dim::kMass / dim::kBodyMass / dim::kTime), "mass per body mass per time");
  EXPECT_EQ(describe(dim::kVolumePerMark), "volume per mark");
  EXPECT_EQ(describe(dim::kNumber / dim::kTime), "number per time");
  EXPECT_EQ(describe(dim::kMass * dim::kMass), "mass times mass");
  EXPECT_EQ(describe(dim::kViscosity), "viscosity");
}

TEST(NearestUnit, IsTheSameUnitByTheNameThatTheSetHas) {
  EXPECT_EQ(nearest_unit("inch", UnitSet::Rule), "in");
  EXPECT_EQ(nearest_unit("inches", UnitSet::Rule), "in");
  EXPECT_EQ(nearest_unit("mgg", UnitSet::Rule), "mg");
}

}  // namespace
}  // namespace meniscus::engine
