// Worked dosage calculations from published teaching material: volume = dose / strength.
//
// Checked against: the answers that the sources print (column `source`, key below), read as text,
//                  reckoned through parse_quantity() and parse_strength(), and rounded half up to
//                  the digits that the source prints.
// Rows whose source asks without answering have `Asked`; their answer is reckoned here.
//
//   ExamNotes   student exam notes with worked answers (copies of 2025 and 2026)
//   Cards       study cards 164955, "dosage calculations"
//   MD0904      US Army Medical Department, MD0904 Pharmacology Math for the Practical Nurse,
//               pages 102, 103 and 145
//   MD0904X     its examination questions (a copy)
//   MD0802      US Army Medical Department, MD0802, page 79
//   Review      nursing examination review questions (several collections)
//   KeyedSheet  a course sheet with worked steps and an answer key
//   PME         National Academies, Preventing Medication Errors, record 11623, pages 44 and 48
//   ISMP500     ISMP newsletter on the safety of U-500 insulin
//   FDA2024     US FDA alert on compounded semaglutide, 26 July 2024
//   NHSDG       NHS Dumfries and Galloway, ceftriaxone for injection, appendix 1
//   ANAES       e-learning for anaesthesia, session 17_03 (percent strengths)
//   ISMPPCT     ISMP, article on percentages and ratios
#include <gtest/gtest.h>

#include <ostream>
#include <string>

#include "engine/quantity/units.hpp"

namespace meniscus::engine {
namespace {

enum class Key { Printed, Asked };

struct Worked {
  std::string_view dose;
  std::string_view strength;
  std::string_view millilitres;  // as printed, or as reckoned for Asked
  std::string_view source;
  Key key = Key::Printed;
};
std::ostream& operator<<(std::ostream& os, const Worked& w) {
  return os << w.dose << " of " << w.strength << " (" << w.source << ")";
}

const Worked kWorked[] = {
    {"75 mg", "100 mg/mL", "0.75", "ExamNotes"},
    {"750000 units", "600000 units/mL", "1.3", "ExamNotes"},  // 1.25: half up
    {"250 mg", "225 mg/mL", "1.1", "ExamNotes"},
    {"500 mg", "330 mg/mL", "1.5", "ExamNotes, Cards"},
    {"0.05 g", "80 mg/mL", "0.63", "ExamNotes"},         // 0.625: half up
    {"5000 units", "40000 units/mL", "0.13", "MD0904"},  // 0.125: half up
    {"15000 units", "20000 units/mL", "0.75", "MD0904"},
    {"0.5 g", "400 mg/mL", "1.3", "MD0904"},  // 1.25: half up
    {"300 mg", "12 mg/mL", "25", "MD0904"},
    {"8500 units", "20000 units/mL", "0.43", "MD0904X", Key::Asked},  // 0.425: half up
    {"2 mg", "10 mg/2 mL", "0.4", "MD0904X", Key::Asked},
    {"60 units", "100 units/mL", "0.6", "MD0802", Key::Asked},
    {"60 units", "U-100", "0.6", "MD0802", Key::Asked},
    {"15 mg", "5 mg/mL", "3", "MD0904", Key::Asked},
    {"20 mg", "25 mg/mL", "0.8", "MD0904", Key::Asked},
    {"3500 units", "5000 units/mL", "0.7", "Review"},
    {"12000 units", "5000 units/mL", "2.4",
     "Review"},  // too much for one site, yet rightly reckoned
    {"3000 units", "5000 units/mL", "0.6", "Review"},
    {"6000 units", "10000 units/mL", "0.6", "Cards"},
    {"200000 units", "250000 units/mL", "0.8", "Cards"},
    {"0.3 mg", "400 mcg/mL", "0.75", "Cards"},
    {"0.25 mg", "500 mcg/mL", "0.5", "Cards"},
    {"50 mg", "25 mg/mL", "2", "Cards"},
    {"4 mg", "10 mg/mL", "0.4", "Cards"},
    {"15 mg", "10 mg/mL", "1.5", "Review"},
    {"160 mg", "60 mg/mL", "2.7", "Review"},
    {"10 mg", "5 mg/mL", "2", "Review"},
    {"40 mg", "20 mg/2 mL", "4", "Review"},
    {"8 mg", "5 mg/mL", "1.6", "Review"},
    {"75 mg", "50 mg/mL", "1.5", "Review", Key::Asked},
    {"60 mg", "75 mg/mL", "0.8", "Review", Key::Asked},
    {"0.6 mg", "0.4 mg/mL", "1.5", "Review", Key::Asked},
    {"800 units", "10000 units/mL", "0.08", "Review", Key::Asked},
    {"100 mg", "500 mg/2.5 mL", "0.5", "Review", Key::Asked},
    {"1500000 units", "600000 units/mL", "2.5", "PME"},  // the tenfold error, as it was drawn up
    {"200 units", "500 units/mL", "0.4", "ISMP500"},
    {"5 units", "U-100", "0.05", "FDA2024"},
    {"50 units", "U-100", "0.5", "FDA2024"},
};
static_assert(std::size(kWorked) >= 30);

int significant_digits(std::string_view text) {
  int count = 0;
  for (const char c : text)
    if (c != '.' && (count != 0 || c != '0')) ++count;
  return count;
}

/// dose / strength as a number of millilitres.
double millilitres(std::string_view dose, std::string_view strength) {
  const Result<AnyQuantity> amount = parse_quantity(dose);
  const Result<AnyQuantity> per = parse_strength(strength);
  if (!amount || !per) return -1;
  const AnyQuantity volume{amount->value / per->value, amount->dimension / per->dimension};
  const Result<Volume> checked = as<Volume>(volume);
  return checked ? number_of(*checked, kMillilitre) : -1;
}

class WorkedCalculation : public ::testing::TestWithParam<Worked> {};
TEST_P(WorkedCalculation, GivesThePrintedVolume) {
  const Worked& w = GetParam();
  const double volume = millilitres(w.dose, w.strength);
  EXPECT_EQ(format_number(volume, significant_digits(w.millilitres)), w.millilitres)
      << format_number(volume, 12);
}
INSTANTIATE_TEST_SUITE_P(Published, WorkedCalculation, ::testing::ValuesIn(kWorked));

struct ByWeight {
  std::string_view per_weight, weight, strength, millilitres, source;
  Key key = Key::Printed;
};
// The sources divide pounds by 2.2; we use 0.45359237 kg.  The answers agree after rounding.
const ByWeight kByWeight[] = {
    {"0.05 mg/kg", "138 lb", "2 mg/mL", "1.6", "ExamNotes"},
    {"0.1 mg/kg", "104 lb", "10 mg/mL", "0.47", "ExamNotes"},
    {"1 mg/kg", "200 lb", "30 mg/0.3 mL", "0.9", "Review", Key::Asked},
};

TEST(WorkedCalculations, DosesByWeight) {
  for (const ByWeight& w : kByWeight) {
    SCOPED_TRACE(w.source);
    const auto per = parse_quantity(w.per_weight).and_then(as<MassPerBodyMass>);
    const auto weight = parse_quantity(w.weight, {.body_mass = true}).and_then(as<BodyMass>);
    const auto strength = parse_strength(w.strength).and_then(as<MassPerVolume>);
    ASSERT_TRUE(per && weight && strength);
    const Volume volume = *per * *weight / *strength;
    EXPECT_EQ(format_number(number_of(volume, kMillilitre), significant_digits(w.millilitres)),
              w.millilitres);
  }
}

// KeyedSheet works "7500 units of 10000 units/mL" out to 0.75 mL step by step, and then prints 0.5
// in its key.  The key is wrong: 0.5 mL holds 5000 units.
TEST(WorkedCalculations, TheKeyThatContradictsItsOwnSteps) {
  EXPECT_EQ(format_number(millilitres("7500 units", "10000 units/mL"), 2), "0.75");
  EXPECT_EQ(format_number(millilitres("5000 units", "10000 units/mL"), 2), "0.5");
}

// ISMP500: 200 units of U-500 stand at the mark 40 of a U-100 syringe (100 marks in 1 mL).
TEST(WorkedCalculations, MarkOfAU100Syringe) {
  const auto per_mark = parse_quantity("0.01 mL/mark").and_then(as<VolumePerMark>);
  ASSERT_TRUE(per_mark);
  const Volume volume = millilitres("200 units", "U-500") * kMillilitre;
  EXPECT_EQ(format_quantity(from(volume / *per_mark)), "40 marks");
}

// NHSDG: 1 g of ceftriaxone in 3.5 mL fills 4.1 mL, hence 243.9 mg/mL.
TEST(WorkedCalculations, PowderThatTakesRoom) {
  const Result<AnyQuantity> strength = parse_strength("1 g/4.1 mL");
  ASSERT_TRUE(strength);
  EXPECT_EQ(format_quantity(*strength), "243.9 mg/mL");
  EXPECT_EQ(format_number(millilitres("1 g", "1 g/4.1 mL"), 2), "4.1");
}

// ANAES (percent) and ISMPPCT (ratios): what one millilitre holds.
TEST(WorkedCalculations, PercentAndRatioStrengths) {
  const std::pair<std::string_view, std::string_view> cases[] = {
      {"0.25 %", "2.5 mg/mL"},     {"0.5 %", "5 mg/mL"},        {"1 %", "10 mg/mL"},
      {"2 %", "20 mg/mL"},         {"50 %", "500 mg/mL"},       {"1:1000", "1 mg/mL"},
      {"1:2000", "0.5 mg/mL"},     {"1:10 000", "0.1 mg/mL"},   {"1:20 000", "0.05 mg/mL"},
      {"1:100 000", "0.01 mg/mL"}, {"1:200 000", "0.005 mg/mL"}};
  for (const auto& [text, shown] : cases) {
    const Result<AnyQuantity> strength = parse_strength(text);
    ASSERT_TRUE(strength) << text;
    EXPECT_EQ(format_quantity(*strength), shown) << text;
  }
}

// The printed table "percentage mass" of a medical dictionary: percent times volume is mass.  The
// last two are a mixture that is restated in teaching material without a source.
TEST(WorkedCalculations, MassInAVolumeOfAPercentStrength) {
  const auto mass = [](std::string_view percent, std::string_view volume) {
    const auto strength = parse_strength(percent).and_then(as<MassPerVolume>);
    const auto drawn = parse_quantity(volume).and_then(as<Volume>);
    return strength && drawn ? format_quantity(from(*strength * *drawn)) : std::string();
  };
  EXPECT_EQ(mass("0.25 %", "10 mL"), "25 mg");
  EXPECT_EQ(mass("0.25 %", "20 mL"), "50 mg");
  EXPECT_EQ(mass("0.5 %", "15 mL"), "75 mg");
  EXPECT_EQ(mass("0.5 %", "20 mL"), "100 mg");
  EXPECT_EQ(mass("1 %", "5 mL"), "50 mg");
  EXPECT_EQ(mass("1 %", "10 mL"), "100 mg");
  EXPECT_EQ(mass("2 %", "4 mL"), "80 mg");
  EXPECT_EQ(mass("2 %", "10 mL"), "200 mg");
  EXPECT_EQ(mass("1 %", "50 mL"), "500 mg");
  EXPECT_EQ(mass("1:100 000", "50 mL"), "0.5 mg");
}

// Half up in decimal, where printf() of the same double rounds down; and never twice.
TEST(WorkedCalculations, HalfUpTraps) {
  EXPECT_EQ(format_number(0.125, 2), "0.13");
  EXPECT_EQ(format_number(0.425, 2), "0.43");
  EXPECT_EQ(format_number(1.25, 2), "1.3");
  EXPECT_EQ(format_number(0.625, 2), "0.63");
  EXPECT_EQ(format_number(0.445, 1), "0.4");
  EXPECT_EQ(format_number(2.675, 3), "2.68");
  EXPECT_EQ(format_number(1.005, 3), "1.01");
  EXPECT_EQ(format_number(-0.125, 2), "-0.13");
}

}  // namespace
}  // namespace meniscus::engine
