// Unit conversions against a general-purpose library of units.
//
// Checked against: UDUNITS-2 (Debian libudunits2-dev, its own XML tables of SI, accepted and common
//                  units), which shares nothing with our table. Each unit of ours that it knows is
//                  turned into our base units (mg, mm, s, K) by both.
// Not compared:    biological units, marks and body mass, which no such library has; months and
//                  years, which UDUNITS counts by the tropical year and UCUM, ours, by the Julian
//                  one (a_t is the tropical year in both).
#include <gtest/gtest.h>
#include <udunits2.h>

#include <cmath>
#include <memory>
#include <string>

#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {
namespace {

struct Free {
  void operator()(ut_system* system) const { ut_free_system(system); }
  void operator()(ut_unit* unit) const { ut_free(unit); }
  void operator()(cv_converter* converter) const { cv_free(converter); }
};

class Udunits {
 public:
  Udunits() {
    ut_set_error_message_handler(ut_ignore);  // its notes on overridden prefixes are not ours
    system_.reset(ut_read_xml(nullptr));
  }
  [[nodiscard]] bool ready() const { return system_ != nullptr; }
  /// `value` of unit `from` in unit `to`; NaN when it knows one of them not or they are unlike.
  [[nodiscard]] double convert(double value, const char* from, const char* to) const {
    const std::unique_ptr<ut_unit, Free> a(ut_parse(system_.get(), from, UT_UTF8));
    const std::unique_ptr<ut_unit, Free> b(ut_parse(system_.get(), to, UT_UTF8));
    if (a == nullptr || b == nullptr) return std::nan("");
    const std::unique_ptr<cv_converter, Free> converter(ut_get_converter(a.get(), b.get()));
    return converter == nullptr ? std::nan("") : cv_convert_double(converter.get(), value);
  }

 private:
  std::unique_ptr<ut_system, Free> system_;
};

struct Unit {
  const char* ours;
  const char* theirs;
  const char* base;  // our base unit of that dimension, as they write it
  double tolerance = 1e-12;
};
std::ostream& operator<<(std::ostream& os, const Unit& unit) { return os << unit.ours; }

class GeneralPurposeLibrary : public ::testing::TestWithParam<Unit> {};

TEST_P(GeneralPurposeLibrary, ConvertsAsWeDo) {
  const Unit& unit = GetParam();
  const Udunits udunits;
  ASSERT_TRUE(udunits.ready()) << "UDUNITS cannot read its tables";
  for (const double value : {0.001, 0.25, 1.0, 37.0, 200.0, 1200000.0}) {
    const std::string text = std::to_string(value) + " " + unit.ours;
    const auto ours = parse_quantity(text);
    ASSERT_TRUE(ours) << text << ": " << ours.error().message;
    const double theirs = udunits.convert(value, unit.theirs, unit.base);
    ASSERT_FALSE(std::isnan(theirs)) << unit.theirs << " to " << unit.base;
    EXPECT_NEAR(ours->value, theirs, unit.tolerance * std::fabs(theirs)) << text;
  }
}

constexpr const char* kMass = "mg";
constexpr const char* kVolume = "mm3";
constexpr const char* kTime = "s";
constexpr const char* kLength = "mm";
constexpr const char* kPressure = "mg mm-1 s-2";
constexpr const char* kForce = "mg mm s-2";
constexpr const char* kViscosity = "mg mm-1 s-1";
constexpr const char* kPerVolume = "mg mm-3";

constexpr double kCut = 2e-7;  // their XML has these with seven digits

INSTANTIATE_TEST_SUITE_P(MassAndVolume, GeneralPurposeLibrary,
                         ::testing::Values(Unit{"mg", "milligram", kMass}, Unit{"g", "gram", kMass},
                                           Unit{"mcg", "microgram", kMass}, Unit{"ug", "ug", kMass},
                                           Unit{"ng", "nanogram", kMass},
                                           Unit{"[lb_av]", "pound", kMass},
                                           Unit{"[oz_av]", "avoirdupois_ounce", kMass, kCut},
                                           Unit{"[gr]", "grain", kMass}, Unit{"mL", "mL", kVolume},
                                           Unit{"L", "liter", kVolume}, Unit{"dL", "dL", kVolume},
                                           Unit{"uL", "uL", kVolume}, Unit{"cc", "cm3", kVolume},
                                           Unit{"cm3", "cm^3", kVolume},
                                           Unit{"[tsp_us]", "teaspoon", kVolume, kCut},
                                           Unit{"[tbs_us]", "tablespoon", kVolume, kCut},
                                           Unit{"[foz_us]", "fluid_ounce", kVolume, kCut},
                                           Unit{"[pt_us]", "liquid_pint", kVolume, kCut},
                                           Unit{"[gal_us]", "US_liquid_gallon", kVolume, kCut}));

INSTANTIATE_TEST_SUITE_P(
    TimeAndLength, GeneralPurposeLibrary,
    ::testing::Values(Unit{"s", "second", kTime}, Unit{"min", "minute", kTime},
                      Unit{"h", "hour", kTime}, Unit{"d", "day", kTime}, Unit{"wk", "week", kTime},
                      Unit{"fortnight", "fortnight", kTime},
                      // their tropical year has two digits more than UCUM's
                      Unit{"a_t", "year", kTime, 1e-7}, Unit{"mm", "mm", kLength},
                      Unit{"cm", "centimeter", kLength}, Unit{"m", "meter", kLength},
                      Unit{"in", "inch", kLength}, Unit{"[ft_i]", "foot", kLength},
                      Unit{"[yd_i]", "yard", kLength}));

INSTANTIATE_TEST_SUITE_P(
    ForceAndFlow, GeneralPurposeLibrary,
    ::testing::Values(Unit{"Pa", "pascal", kPressure}, Unit{"kPa", "kPa", kPressure},
                      Unit{"bar", "bar", kPressure}, Unit{"atm", "atmosphere", kPressure},
                      // UCUM cuts the density of mercury to six digits
                      Unit{"mm[Hg]", "mm_Hg", kPressure, 1e-5},
                      Unit{"[psi]", "psi", kPressure, 1e-7}, Unit{"N", "newton", kForce},
                      Unit{"dyn", "dyne", kForce}, Unit{"P", "poise", kViscosity},
                      Unit{"cP", "centipoise", kViscosity}, Unit{"mPa.s", "mPa s", kViscosity},
                      Unit{"mL/h", "mL/hour", "mm3 s-1"}, Unit{"mL/s", "mL/s", "mm3 s-1"}));

INSTANTIATE_TEST_SUITE_P(
    Strengths, GeneralPurposeLibrary,
    ::testing::Values(Unit{"mg/mL", "mg/mL", kPerVolume}, Unit{"mcg/mL", "ug/mL", kPerVolume},
                      Unit{"g/L", "g/L", kPerVolume}, Unit{"g/mL", "g/mL", kPerVolume},
                      Unit{"g/dL", "g/dL", kPerVolume}, Unit{"mg/dL", "mg/dL", kPerVolume},
                      Unit{"mg/L", "mg/L", kPerVolume}));

// Scales with an offset, at the temperatures that oils are drawn up at.
TEST(GeneralPurposeLibrary, Temperatures) {
  const Udunits udunits;
  ASSERT_TRUE(udunits.ready());
  for (const char* text : {"20", "25", "37"}) {
    const auto celsius = parse_quantity(std::string(text) + " Cel");
    ASSERT_TRUE(celsius);
    EXPECT_NEAR(celsius->value, udunits.convert(std::stod(text), "celsius", "kelvin"), 1e-9);
  }
  const auto fahrenheit = parse_quantity("98.6 [degF]");
  ASSERT_TRUE(fahrenheit);
  EXPECT_NEAR(fahrenheit->value, udunits.convert(98.6, "fahrenheit", "kelvin"), 1e-9);
}

// Unlike dimensions do not convert, in either.
TEST(GeneralPurposeLibrary, UnlikeThingsStayApart) {
  const Udunits udunits;
  ASSERT_TRUE(udunits.ready());
  EXPECT_TRUE(std::isnan(udunits.convert(1, "mg", "mL")));
  const auto mass = parse_quantity("1 mg");
  const auto volume = parse_quantity("1 mL");
  ASSERT_TRUE(mass && volume);
  EXPECT_FALSE(mass->dimension == volume->dimension);
}

}  // namespace
}  // namespace meniscus::engine
