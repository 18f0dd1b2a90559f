// How hard and how long a liquid is pushed through a needle, and how far a delivered dose may be
// off.
//
// Model:   Hagen-Poiseuille flow of a Newtonian liquid through the needle, without friction of the
//          plunger and without back-pressure of tissue: a lower bound, a coarse notice and no more.
//          Source for its use on syringes: Pharm. Res. 2018; 35: 120 (15 needles, 26 to 33 G).
// Units:   Boost.Units (SI) inside, so a slip in the formula does not compile.
// Errors:  none; the caller gives positive, finite values.
#pragma once

#include <boost/units/quantity.hpp>
#include <boost/units/systems/si/area.hpp>
#include <boost/units/systems/si/dynamic_viscosity.hpp>
#include <boost/units/systems/si/force.hpp>
#include <boost/units/systems/si/length.hpp>
#include <boost/units/systems/si/pressure.hpp>
#include <boost/units/systems/si/time.hpp>
#include <boost/units/systems/si/volume.hpp>

namespace meniscus::engine::mechanics {

namespace si = boost::units::si;
using Length = boost::units::quantity<si::length>;
using Volume = boost::units::quantity<si::volume>;
using Viscosity = boost::units::quantity<si::dynamic_viscosity>;
using Pressure = boost::units::quantity<si::pressure>;
using Force = boost::units::quantity<si::force>;
using Duration = boost::units::quantity<si::time>;
using Area = boost::units::quantity<si::area>;
using Flow = decltype(Volume{} / Duration{});

struct Needle {
  Length bore;  // inner diameter
  Length length;
};

/// Pressure that drives `flow` through the needle: 128 eta L Q / (pi d^4).
Pressure pressure_drop(const Needle& needle, const Viscosity& viscosity, const Flow& flow);
/// Force on the plunger of a barrel with inner diameter `barrel`.
Force plunger_force(const Needle& needle, const Length& barrel, const Viscosity& viscosity,
                    const Flow& flow);
/// Time to push `volume` through the needle with `force` on the plunger.
Duration time_to_inject(const Needle& needle, const Length& barrel, const Viscosity& viscosity,
                        const Volume& volume, const Force& force);

/// Allowed error of an expelled volume, as ISO 7886-1 has it for a syringe of `capacity`: below
/// half the capacity 1.5 % of the capacity plus 2 % (from 5 mL: 1 %) of the volume, above it 5 % (4
/// %). Known from memory of the 1993 edition; the 2017 edition was not read.
Volume syringe_tolerance(const Volume& capacity, const Volume& expelled);
/// The share of the dose that tolerance and half a graduation may add or take away together.
double delivered_dose_error(const Volume& capacity, const Volume& graduation,
                            const Volume& expelled);

}  // namespace meniscus::engine::mechanics
