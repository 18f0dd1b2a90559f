// Numbers and quantities as they are shown.
//
// Checked against: the Joint Commission's "Do Not Use" list of 2004 (no trailing zero, a leading
// zero always); docs/units.md has the table of units, which is our own.
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <limits>
#include <random>

#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {
namespace {

TEST(FormatNumber, ShortestAndNeverPadded) {
  const std::pair<double, std::string_view> cases[] = {{0.25, "0.25"},
                                                       {1000, "1000"},
                                                       {0.0003, "0.0003"},
                                                       {0, "0"},
                                                       {-0.0, "0"},
                                                       {5.0, "5"},
                                                       {1234567, "1234570"},
                                                       {0.1 + 0.2, "0.3"},
                                                       {1.0 / 3, "0.333333"},
                                                       {999999.5, "1000000"},
                                                       {9.9999999, "10"},
                                                       {-2.5, "-2.5"},
                                                       {1e15, "1000000000000000"},
                                                       {123456.7, "123457"},
                                                       {0.1 * 3, "0.3"}};
  for (const auto& [value, text] : cases)
    EXPECT_EQ(format_number(value), text);
  EXPECT_EQ(format_number(1.0 / 3, 17), "0.3333333333333333");
  EXPECT_EQ(format_number(0.1, 17), "0.1");
}

/// Numbers of few digits are written by a road of their own.  The C library (C17, 7.21.6.1) rounds
/// the exact binary value to 14 digits; both texts must be the same number.
TEST(FormatNumber, ShortNumbersAreThoseOfTheCLibrary) {
  std::mt19937_64 random(20261130);  // NOLINT(cert-msc*): the same numbers each time
  const auto below = [&](std::uint64_t end) { return random() % end; };
  for (int turn = 0; turn < 200000; ++turn) {
    const auto whole = static_cast<double>(1 + below(turn % 2 == 0 ? 100000 : 20'000'000'000'000));
    double value = whole / std::pow(10.0, static_cast<double>(below(9)));
    for (std::uint64_t noise = below(200); noise > 0 && turn % 3 == 0; --noise)
      value = std::nextafter(value, turn % 2 == 0 ? 0 : 1e300);
    std::array<char, 40> text{};
    std::snprintf(text.data(), text.size(), "%.13e", value);
    EXPECT_EQ(std::strtod(format_number(value, 14).c_str(), nullptr),
              std::strtod(text.data(), nullptr))
        << text.data();
  }
}

TEST(FormatNumber, NoNumberIsSaid) {
  EXPECT_EQ(format_number(std::numeric_limits<double>::quiet_NaN()), "not a number");
  EXPECT_EQ(format_number(std::numeric_limits<double>::infinity()), "infinity");
  EXPECT_EQ(format_number(-std::numeric_limits<double>::infinity()), "-infinity");
}

TEST(FormatQuantity, NoNumberIsSaid) {
  constexpr double kInfinite = std::numeric_limits<double>::infinity();
  EXPECT_EQ(format_quantity({kInfinite, dim::kVolume}).substr(0, 9), "infinity ");
  EXPECT_EQ(format_quantity({-kInfinite, dim::kMass}).substr(0, 10), "-infinity ");
}

TEST(FormatQuantity, UnitForDimensionAndSize) {
  const std::pair<std::string_view, std::string_view> cases[] = {{"50 mg", "50 mg"},
                                                                 {"0.25 mg", "0.25 mg"},
                                                                 {"50 mcg", "50 mcg"},
                                                                 {"250 mcg", "0.25 mg"},
                                                                 {"20 ng", "20 ng"},
                                                                 {"1000 mg", "1 g"},
                                                                 {"1500 mg", "1.5 g"},
                                                                 {"2 kg", "2 kg"},
                                                                 {"0.25 mL", "0.25 mL"},
                                                                 {"1 L", "1000 mL"},
                                                                 {"7 days", "7 days"},
                                                                 {"1 day", "1 day"},
                                                                 {"24 h", "1 day"},
                                                                 {"1 wk", "7 days"},
                                                                 {"2 wk", "14 days"},
                                                                 {"1 mo", "1 month"},
                                                                 {"3 mo", "3 months"},
                                                                 {"18 years", "18 years"},
                                                                 {"1 year", "1 year"},
                                                                 {"12 h", "12 hours"},
                                                                 {"36 h", "36 hours"},
                                                                 {"1 h", "1 hour"},
                                                                 {"90 min", "1.5 hours"},
                                                                 {"100 min", "100 minutes"},
                                                                 {"1 min", "1 minute"},
                                                                 {"75.3 s", "75.3 seconds"},
                                                                 {"1 s", "1 second"},
                                                                 {"0 s", "0 days"},
                                                                 {"5.5 days", "5.5 days"},
                                                                 {"1 in", "25.4 mm"},
                                                                 {"178 cm", "178 cm"},
                                                                 {"1 unit", "1 unit"},
                                                                 {"100 units", "100 units"},
                                                                 {"0.5 units", "0.5 units"},
                                                                 {"1234567 units", "1234567 units"},
                                                                 {"1 mark", "1 mark"},
                                                                 {"12 marks", "12 marks"},
                                                                 {"200 mg/mL", "200 mg/mL"},
                                                                 {"100 units/mL", "100 units/mL"},
                                                                 {"1 mg/kg", "1 mg/kg"},
                                                                 {"50 mcg/kg", "50 mcg/kg"},
                                                                 {"5 mg/kg/day", "5 mg/kg/day"},
                                                                 {"0.01 mL/mark", "0.01 mL/mark"},
                                                                 {"40 cP", "40 mPa.s"},
                                                                 {"10 N", "10 N"},
                                                                 {"100 kPa", "100 kPa"},
                                                                 {"20 mEq", "20 mEq"},
                                                                 {"5 mmol", "5 mmol"},
                                                                 {"2 mL/s", "2 mL/s"},
                                                                 {"100 mL/h", "100 mL/h"},
                                                                 {"25 Cel", "25 \u00B0C"},
                                                                 {"20 %", "0.2"},
                                                                 {"-5 mg", "-5 mg"},
                                                                 {"-1 day", "-1 day"},
                                                                 {"3 mg2", "3 mg2"},
                                                                 {"2 mg2/kg", "2 mg2.kg-1"}};
  for (const auto& [text, shown] : cases) {
    const Result<AnyQuantity> quantity = parse_quantity(text);
    ASSERT_TRUE(quantity) << text;
    EXPECT_EQ(format_quantity(*quantity), shown) << text;
  }
}

TEST(FormatQuantity, BodyMassIsInKilograms) {
  EXPECT_EQ(format_quantity(*parse_quantity("71 kg", {.body_mass = true})), "71 kg");
  EXPECT_EQ(format_quantity(*parse_quantity("154 lb", {.body_mass = true})), "69.85 kg");
}

TEST(FormatQuantity, InAGivenUnit) {
  const auto in = [](std::string_view text, std::string_view unit) {
    return format_quantity_in(*parse_quantity(text), unit);
  };
  EXPECT_EQ(in("25.4 mm", "in"), "1 in");
  EXPECT_EQ(in("0.5 L", "mL"), "500 mL");
  EXPECT_EQ(in("0.2 %", "%"), "0.2 %");
  EXPECT_EQ(in("14 days", "week"), "2 weeks");
  EXPECT_EQ(in("7 days", "weeks"), "1 week");
  EXPECT_EQ(in("298.15 s", "min"), "4.969 min");
  EXPECT_EQ(in("5 mg", "mL"), "5 mg");     // no such dimension
  EXPECT_EQ(in("5 mg", "xyzzy"), "5 mg");  // no such unit
  EXPECT_EQ(format_quantity_in(*parse_quantity("71 kg", {.body_mass = true}), "kg"), "71 kg");
  EXPECT_EQ(format_quantity_in({0.25, dim::kNumber}, "%"), "25 %");
}

}  // namespace
}  // namespace meniscus::engine
