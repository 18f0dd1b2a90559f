// Static types of quantities: what must not compile, and the way to and from run time.
//
// Checked against: Boost.Units' own SI system (an independent set of factors) and the definitions
// of the SI brochure, 9th edition (newton, pascal; from memory).
#include "engine/quantity/units.hpp"

#include <gtest/gtest.h>

#include <boost/units/systems/si/dynamic_viscosity.hpp>
#include <boost/units/systems/si/force.hpp>
#include <boost/units/systems/si/length.hpp>
#include <boost/units/systems/si/mass.hpp>
#include <boost/units/systems/si/pressure.hpp>
#include <boost/units/systems/si/volume.hpp>

namespace meniscus::engine {
namespace {

namespace si = boost::units::si;
template <class Unit>
using Si = boost::units::quantity<Unit, double>;

template <class A, class B>
concept Addable = requires(A a, B b) {
  a + b;
};
template <class A, class B>
concept Comparable = requires(A a, B b) {
  a < b;
};

static_assert(Addable<Mass, Mass> && Addable<Volume, Volume> && Comparable<Mass, Mass>);
static_assert(!Addable<Mass, Volume>);
static_assert(!Addable<Mass, Time>);
static_assert(!Addable<Mass, BodyMass>);
static_assert(!Addable<Mass, BiologicalUnits>);
static_assert(!Addable<Volume, Marks>);
static_assert(!Addable<BiologicalUnits, Marks>);
static_assert(!Addable<MassPerVolume, BiologicalPerVolume>);
static_assert(!Addable<AmountOfSubstance, Equivalents>);
static_assert(!Addable<Mass, double> && !Addable<BiologicalUnits, double>);
static_assert(!Comparable<Mass, Volume> && !Comparable<MassPerBodyMass, Mass>);
static_assert(!std::is_convertible_v<MassPerBodyMass, double>);
static_assert(!std::is_convertible_v<double, Mass>);
static_assert(std::is_same_v<decltype(MassPerVolume{} * Volume{}), Mass>);
static_assert(std::is_same_v<decltype(VolumePerMark{} * Marks{}), Volume>);
static_assert(std::is_same_v<decltype(MassPerBodyMass{} * BodyMass{}), Mass>);
static_assert(std::is_same_v<decltype(Pressure{} * Area{}), Force>);
static_assert(std::is_same_v<decltype(Viscosity{} / Time{}), Pressure>);

static_assert(kDimensionOf<Mass> == dim::kMass);
static_assert(kDimensionOf<Volume> == dim::kVolume);
static_assert(kDimensionOf<BodyMass> == dim::kBodyMass);
static_assert(kDimensionOf<MassPerVolume> == dim::kMassPerVolume);
static_assert(kDimensionOf<BiologicalPerVolume> == dim::kBiologicalPerVolume);
static_assert(kDimensionOf<VolumePerMark> == dim::kVolumePerMark);
static_assert(kDimensionOf<Force> == dim::kForce);
static_assert(kDimensionOf<Pressure> == dim::kPressure);
static_assert(kDimensionOf<Viscosity> == dim::kViscosity);
static_assert(kDimensionOf<Si<si::force>> == dim::kForce);

TEST(StaticQuantities, TextNarrowsToItsType) {
  const Result<Volume> volume = parse_quantity("0.25 mL").and_then(as<Volume>);
  ASSERT_TRUE(volume);
  EXPECT_EQ(volume->value(), 250.0);
  const Result<MassPerVolume> strength = parse_strength("200 mg/mL").and_then(as<MassPerVolume>);
  ASSERT_TRUE(strength);
  EXPECT_EQ(format_quantity(from(*strength * *volume)), "50 mg");
}

TEST(StaticQuantities, WrongDimensionNamesBothSides) {
  const Result<Mass> mass = parse_quantity("2 h").and_then(as<Mass>);
  ASSERT_FALSE(mass);
  EXPECT_EQ(mass.error().code, Errc::DimensionMismatch);
  EXPECT_EQ(mass.error().message, "time where mass is needed");
  const Result<Mass> units = parse_quantity("100 units").and_then(as<Mass>);
  ASSERT_FALSE(units);
  EXPECT_EQ(units.error().message, "biological units where mass is needed");
}

TEST(StaticQuantities, AgreeWithBoostsSi) {
  const auto newton = as<Si<si::force>>({1e9, dim::kForce});
  ASSERT_TRUE(newton);
  EXPECT_DOUBLE_EQ(newton->value(), 1.0);
  EXPECT_DOUBLE_EQ(from(Si<si::mass>::from_value(1)).value, 1e6);
  EXPECT_DOUBLE_EQ(from(Si<si::length>::from_value(1)).value, 1e3);
  EXPECT_DOUBLE_EQ(from(Si<si::volume>::from_value(1)).value, 1e9);
  EXPECT_DOUBLE_EQ(from(Si<si::pressure>::from_value(1)).value, kPascal.value());
  EXPECT_DOUBLE_EQ(from(Si<si::dynamic_viscosity>::from_value(1e-3)).value,
                   kMillipascalSecond.value());
}

TEST(StaticQuantities, NamedUnitsAgreeWithTheirText) {
  const auto value = [](const char* text) { return parse_quantity(text)->value; };
  EXPECT_EQ(value("1 mcg"), kMicrogram.value());
  EXPECT_EQ(value("1 g"), kGram.value());
  EXPECT_EQ(value("1 m"), kMetre.value());
  EXPECT_EQ(value("1 in"), kInch.value());
  EXPECT_EQ(value("1 mL"), kMillilitre.value());
  EXPECT_EQ(value("1 L"), kLitre.value());
  EXPECT_EQ(value("1 day"), kDay.value());
  EXPECT_EQ(parse_quantity("1 kg", {.body_mass = true})->value, kBodyKilogram.value());
  EXPECT_EQ(value("1 N"), kNewton.value());
  EXPECT_EQ(value("1 Pa"), kPascal.value());
  EXPECT_EQ(value("1 mPa.s"), kMillipascalSecond.value());
}

TEST(StaticQuantities, DoseByBodyMass) {
  const auto per = parse_quantity("1 mg/kg").and_then(as<MassPerBodyMass>);
  const auto weight = parse_quantity("71 kg", {.body_mass = true}).and_then(as<BodyMass>);
  ASSERT_TRUE(per && weight);
  EXPECT_EQ(format_quantity(from(*per * *weight)), "71 mg");
}

}  // namespace
}  // namespace meniscus::engine
