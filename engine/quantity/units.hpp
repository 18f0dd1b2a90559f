// Quantities whose dimension is part of their type.
//
// Example:  Result<Volume> volume = parse_quantity("0.25 mL").and_then(as<Volume>);
//           const Mass dose = *strength * *volume;   // MassPerVolume * Volume; else no compilation
//           format_quantity(from(dose));
// Holds:    doubles in one coherent system of base units: milligram, millimetre, second, milligram
//           of body mass, biological unit, mark, kelvin, mole, equivalent.  These are the base
//           units of the run-time AnyQuantity (dimension.hpp), so that as() and from() change no
//           number.
// Why:      under plain SI `5 mg/kg` cancels to a bare number and a biological unit is one; so body
//           mass, biological units, marks and equivalents are base dimensions of their own.
// SI:       a quantity of Boost's own SI system converts explicitly, as the base units are scaled
//           from the same ones; as() takes SI types too.
#pragma once

#include <boost/units/base_dimension.hpp>
#include <boost/units/base_unit.hpp>
#include <boost/units/base_units/cgs/gram.hpp>
#include <boost/units/base_units/si/kelvin.hpp>
#include <boost/units/base_units/si/meter.hpp>
#include <boost/units/base_units/si/mole.hpp>
#include <boost/units/base_units/si/second.hpp>
#include <boost/units/derived_dimension.hpp>
#include <boost/units/make_system.hpp>
#include <boost/units/physical_dimensions.hpp>
#include <boost/units/quantity.hpp>
#include <boost/units/scale.hpp>
#include <boost/units/scaled_base_unit.hpp>
#include <boost/units/unit.hpp>
#include <concepts>
#include <type_traits>

#include "engine/base/result.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {

/// Base dimensions of our own; ordinals above zero are free for users of Boost.Units.
struct BodyMassBase : boost::units::base_dimension<BodyMassBase, 1> {};
struct BiologicalBase : boost::units::base_dimension<BiologicalBase, 2> {};
struct MarkBase : boost::units::base_dimension<MarkBase, 3> {};
struct EquivalentBase : boost::units::base_dimension<EquivalentBase, 4> {};

struct BodyMilligram : boost::units::base_unit<BodyMilligram, BodyMassBase::dimension_type, 1> {};
struct BiologicalUnit : boost::units::base_unit<BiologicalUnit, BiologicalBase::dimension_type, 2> {
};
struct SyringeMark : boost::units::base_unit<SyringeMark, MarkBase::dimension_type, 3> {};
struct Equivalent : boost::units::base_unit<Equivalent, EquivalentBase::dimension_type, 4> {};

using MilligramBase =
    boost::units::scaled_base_unit<boost::units::cgs::gram_base_unit,
                                   boost::units::scale<10, boost::units::static_rational<-3>>>;
using MillimetreBase =
    boost::units::scaled_base_unit<boost::units::si::meter_base_unit,
                                   boost::units::scale<10, boost::units::static_rational<-3>>>;

using System =
    boost::units::make_system<MilligramBase, MillimetreBase, boost::units::si::second_base_unit,
                              BodyMilligram, BiologicalUnit, SyringeMark,
                              boost::units::si::kelvin_base_unit, boost::units::si::mole_base_unit,
                              Equivalent>::type;

template <class Dim>
using Quantity = boost::units::quantity<boost::units::unit<Dim, System>, double>;

using Mass = Quantity<boost::units::mass_dimension>;
using Length = Quantity<boost::units::length_dimension>;
using Area = Quantity<boost::units::area_dimension>;
using Volume = Quantity<boost::units::volume_dimension>;
using Time = Quantity<boost::units::time_dimension>;  // `Duration` keeps months apart: calendar.hpp
using BodyMass = Quantity<BodyMassBase::dimension_type>;
using BiologicalUnits = Quantity<BiologicalBase::dimension_type>;
using Marks = Quantity<MarkBase::dimension_type>;
using Temperature = Quantity<boost::units::temperature_dimension>;
using AmountOfSubstance = Quantity<boost::units::amount_dimension>;
using Equivalents = Quantity<EquivalentBase::dimension_type>;
using Force = Quantity<boost::units::force_dimension>;
using Pressure = Quantity<boost::units::pressure_dimension>;
using Viscosity = Quantity<boost::units::dynamic_viscosity_dimension>;
using MassPerVolume = decltype(Mass{} / Volume{});
using BiologicalPerVolume = decltype(BiologicalUnits{} / Volume{});
using MassPerBodyMass = decltype(Mass{} / BodyMass{});
using BiologicalPerBodyMass = decltype(BiologicalUnits{} / BodyMass{});
using VolumePerMark = decltype(Volume{} / Marks{});
using Flow = decltype(Volume{} / Time{});
using Velocity = decltype(Length{} / Time{});

/// One of each unit, to multiply with: `2.5 * kMillilitre`, `number_of(force, kNewton)`.
inline constexpr Mass kMilligram = Mass::from_value(1);
inline constexpr Mass kMicrogram = Mass::from_value(1e-3);
inline constexpr Mass kGram = Mass::from_value(1e3);
inline constexpr Length kMillimetre = Length::from_value(1);
inline constexpr Length kMetre = Length::from_value(1e3);
inline constexpr Length kInch = Length::from_value(25.4);
inline constexpr Volume kMillilitre = Volume::from_value(1e3);
inline constexpr Volume kLitre = Volume::from_value(1e6);
inline constexpr Time kSecond = Time::from_value(1);
inline constexpr Time kDay = Time::from_value(86400);
inline constexpr BodyMass kBodyKilogram = BodyMass::from_value(1e6);
inline constexpr BiologicalUnits kBiologicalUnit = BiologicalUnits::from_value(1);
inline constexpr Marks kMarkUnit = Marks::from_value(1);
inline constexpr Force kNewton = Force::from_value(1e9);
inline constexpr Pressure kPascal = Pressure::from_value(1e3);
inline constexpr Viscosity kMillipascalSecond = Viscosity::from_value(1);

/// How many of `unit` a quantity is.
template <class Q>
double number_of(const Q& quantity, const Q& unit) {
  return quantity.value() / unit.value();
}

namespace detail {

/// The run-time base of a Boost.Units base dimension.
template <class Tag>
struct BaseOf;
template <>
struct BaseOf<boost::units::mass_base_dimension> {
  static constexpr Base kBase = Base::Mass;
};
template <>
struct BaseOf<boost::units::length_base_dimension> {
  static constexpr Base kBase = Base::Length;
};
template <>
struct BaseOf<boost::units::time_base_dimension> {
  static constexpr Base kBase = Base::Time;
};
template <>
struct BaseOf<boost::units::temperature_base_dimension> {
  static constexpr Base kBase = Base::Temperature;
};
template <>
struct BaseOf<boost::units::amount_base_dimension> {
  static constexpr Base kBase = Base::Amount;
};
template <>
struct BaseOf<BodyMassBase> {
  static constexpr Base kBase = Base::BodyMass;
};
template <>
struct BaseOf<BiologicalBase> {
  static constexpr Base kBase = Base::Biological;
};
template <>
struct BaseOf<MarkBase> {
  static constexpr Base kBase = Base::Mark;
};
template <>
struct BaseOf<EquivalentBase> {
  static constexpr Base kBase = Base::Equivalent;
};

template <class Dim>
struct RunTime {
  using Head = typename Dim::item;
  using Power = typename Head::value_type;
  static_assert(Power::Denominator == 1, "a root of a unit has no run-time dimension");
  static constexpr Dimension kDimension =
      Dimension::of(BaseOf<typename Head::tag_type>::kBase, static_cast<int>(Power::Numerator)) *
      RunTime<typename Dim::next>::kDimension;
};
template <>
struct RunTime<boost::units::dimensionless_type> {
  static constexpr Dimension kDimension = dim::kNumber;
};

template <class Q>
struct QuantityTraits;
template <class Dim, class Sys>
struct QuantityTraits<boost::units::quantity<boost::units::unit<Dim, Sys>, double>> {
  using Dimensions = Dim;
};

}  // namespace detail

/// A Boost.Units quantity of doubles, in our system or SI.
template <class Q>
concept StaticQuantity = requires {
  typename detail::QuantityTraits<Q>::Dimensions;
};

/// The run-time dimension of a static type.
template <StaticQuantity Q>
inline constexpr Dimension kDimensionOf =
    detail::RunTime<typename detail::QuantityTraits<Q>::Dimensions>::kDimension;

/// Narrows to a static type.  Errors: DimensionMismatch, naming both sides.
template <StaticQuantity Q>
Result<Q> as(const AnyQuantity& any) {
  if (any.dimension != kDimensionOf<Q>)
    return Error{Errc::DimensionMismatch,
                 describe(any.dimension) + " where " + describe(kDimensionOf<Q>) + " is needed", 0,
                 0};
  using Ours = Quantity<typename detail::QuantityTraits<Q>::Dimensions>;
  return static_cast<Q>(Ours::from_value(any.value));
}

/// Widens; the number is in base units again.
template <StaticQuantity Q>
AnyQuantity from(const Q& quantity) {
  using Ours = Quantity<typename detail::QuantityTraits<Q>::Dimensions>;
  return {static_cast<Ours>(quantity).value(), kDimensionOf<Q>};
}

}  // namespace meniscus::engine
