// Properties of quantities: decimal safety, limits, and text that comes back.
//
// Checked against: whole numbers of micrograms and hundredths of millilitres, which 64-bit integers
// hold exactly.
#include <gtest/gtest.h>

#include <random>

#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {
namespace {

double value(const std::string& text) {
  const Result<AnyQuantity> quantity = parse_quantity(text);
  EXPECT_TRUE(quantity) << text;
  return quantity ? quantity->value : -1;
}

/// `n` thousandths in decimal: 300 -> 0.300, written without padding.
std::string thousandths(int n) {
  std::string text = std::to_string(n);
  if (text.size() < 4) text.insert(0, 4 - text.size(), '0');
  text.insert(text.size() - 3, 1, '.');
  while (text.back() == '0')
    text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text;
}

TEST(DecimalSafety, ThreeTenthsOfAMillilitre) {
  const double tenth = value("0.1 mL");
  EXPECT_EQ(compare(tenth + tenth + tenth, value("0.3 mL")), 0);
  EXPECT_EQ(subtract(tenth + tenth + tenth, value("0.3 mL")), 0.0);
  EXPECT_EQ(compare(3 * tenth, value("0.3 mL")), 0);
}

// Not only within the tolerance: the same double, bit for bit.
TEST(DecimalSafety, EveryWholeMicrogramIsTheSameInMilligrams) {
  for (int n = 1; n <= 10000; ++n) {
    const double micrograms = value(std::to_string(n) + " ug");
    ASSERT_EQ(micrograms, value(thousandths(n) + " mg")) << n;
    ASSERT_EQ(micrograms, value(std::to_string(n * 1000) + " ng")) << n;
  }
}

TEST(DecimalSafety, EveryHundredthOfAMillilitreIsTheSameInMicrolitres) {
  for (int n = 1; n <= 10000; ++n)
    ASSERT_EQ(value(std::to_string(n * 10) + " uL"), value(thousandths(n * 10) + " mL")) << n;
}

TEST(Limits, NeighboursAreToldApartAndNoiseIsNot) {
  for (int n = 1; n <= 10000; ++n) {
    const double limit = value(thousandths(n) + " mg");
    const double noisy = limit * (1 + 4e-16);
    ASSERT_EQ(compare(limit, noisy), 0) << n;
    ASSERT_EQ(compare(noisy, limit), 0) << n;
    ASSERT_EQ(compare(value(thousandths(n + 1) + " mg"), limit), 1) << n;
    ASSERT_EQ(compare(limit, value(thousandths(n + 1) + " mg")), -1) << n;
  }
}

// Dose / strength against volume, over doses, strengths and volumes on the decimal grid: exact in
// hundredths, so that compare() must call them equal.
TEST(Limits, DoseOverStrengthMeetsItsVolume) {
  for (int strength = 1; strength <= 250; strength += 3)
    for (int hundredths = 1; hundredths <= 300; hundredths += 7) {
      const double dose = value(thousandths(strength * hundredths * 10) + " mg");
      const double per = value(std::to_string(strength) + " mg/mL");
      const double volume = value(thousandths(hundredths * 10) + " mL");
      ASSERT_EQ(compare(dose / per, volume), 0) << strength << " " << hundredths;
      ASSERT_EQ(subtract(dose / per, volume), 0.0);
      ASSERT_EQ(compare(dose, per * volume), 0);
    }
}

TEST(Compare, IsAnOrderAtTheEdges) {
  EXPECT_EQ(compare(0, 0), 0);
  EXPECT_EQ(compare(0, 1e-300), -1);
  EXPECT_EQ(compare(-1, 1), -1);
  EXPECT_EQ(compare(1, -1), 1);
  EXPECT_EQ(compare(1, 1 + 0.9e-9), 0);
  EXPECT_EQ(compare(1, 1 + 1.1e-9), -1);
  EXPECT_EQ(compare(-1, -1 - 1.1e-9), 1);
}

/// Round trip of one quantity through its text with all digits.
void comes_back(const AnyQuantity& quantity) {
  const std::string text = format_quantity(quantity, 17);
  QuantityStyle style;
  style.body_mass = quantity.dimension == dim::kBodyMass;
  const Result<AnyQuantity> read = parse_quantity(text, style);
  if (!read && read.error().code == Errc::Ambiguous) {
    // Only text that people could take for thousands, never what we show: `1.5`, not `1.500`.
    ADD_FAILURE() << text << ": " << read.error().message;
    return;
  }
  ASSERT_TRUE(read) << text << ": " << read.error().message;
  EXPECT_EQ(read->dimension, quantity.dimension) << text;
  EXPECT_EQ(compare(read->value, quantity.value), 0) << text << " " << quantity.value;
}

TEST(RoundTrip, TextOfEveryDimensionComesBack) {
  const Dimension dimensions[] = {dim::kMass,
                                  dim::kVolume,
                                  dim::kLength,
                                  dim::kArea,
                                  dim::kTime,
                                  dim::kBodyMass,
                                  dim::kBiological,
                                  dim::kMark,
                                  dim::kAmountOfSubstance,
                                  dim::kEquivalent,
                                  dim::kMassPerVolume,
                                  dim::kBiologicalPerVolume,
                                  dim::kVolumePerMark,
                                  dim::kViscosity,
                                  dim::kForce,
                                  dim::kPressure,
                                  dim::kMass / dim::kBodyMass,
                                  dim::kMass / dim::kBodyMass / dim::kTime,
                                  dim::kBiological / dim::kBodyMass,
                                  dim::kVolume / dim::kTime,
                                  dim::kMass * dim::kMass / dim::kBodyMass,
                                  dim::kNumber / dim::kTime,
                                  dim::kMass / dim::kMark,
                                  dim::kEquivalent / dim::kVolume};
  std::mt19937_64 random(42);  // NOLINT(cert-msc51-cpp): the same run every time
  std::uniform_real_distribution<double> exponent(-6, 6);
  for (const Dimension dimension : dimensions)
    for (int i = 0; i < 400; ++i) {
      const double whole = static_cast<double>(random() % 1000000 + 1);
      comes_back({whole * std::pow(10.0, std::round(exponent(random))), dimension});
      comes_back({std::pow(10.0, exponent(random)), dimension});
    }
}

TEST(RoundTrip, EveryRuleUnitComesBack) {
  for (const std::string_view unit : rule_units()) {
    if (unit == "%") continue;  // shown as a bare number
    const Result<AnyQuantity> quantity = parse_quantity("2.5 " + std::string(unit));
    ASSERT_TRUE(quantity) << unit;
    comes_back(*quantity);
  }
}

}  // namespace
}  // namespace meniscus::engine
