// How hard and how long a liquid is pushed through a needle, and how far a delivered dose may be
// off.
//
// Model:   Hagen-Poiseuille flow of a Newtonian liquid through the needle, without friction of the
//          plunger and without back-pressure of tissue: a lower bound, a coarse notice and no more.
//          Source for its use on syringes: Pharm. Res. 2018; 35: 120 (15 needles, 26 to 33 G).
//          Drawing up is the same flow the other way; the air outside drives it, so the pressure
//          is never more than one atmosphere, however hard the plunger is pulled.
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
/// Time to draw `volume` up through the needle with `force` on the plunger: at best, because the
/// needle's end is taken to be under one atmosphere (a vial to which air was added has a little
/// more).
Duration time_to_draw_up(const Needle& needle, const Length& barrel, const Viscosity& viscosity,
                         const Volume& volume, const Force& force);
/// Time to push `volume` through the needle with `force` on the plunger.
Duration time_to_inject(const Needle& needle, const Length& barrel, const Viscosity& viscosity,
                        const Volume& volume, const Force& force);

/// Allowed error of an expelled volume, as ISO 7886-1 has it for a syringe of `capacity`: below
/// half the capacity 1.5 % of the capacity plus 2 % (from 5 mL: 1 %) of the volume, above it 5 % (4
/// %). Known from memory of the 1993 edition; the 2017 edition was not read.
Volume syringe_tolerance(const Volume& capacity, const Volume& expelled);
/// What may make a delivered dose differ from the drawn one, each as a share of it.
struct DoseError {
  double tolerance;   // of the syringe, ISO 7886-1
  double graduation;  // half a mark, as it is read
  double dead_space;  // what stays behind where a needle is put on after filling and not primed

  /// Of the volume that the marks show; the dead space is outside the scale, and counts only where
  /// the liquid in it is neither drawn up beforehand nor pushed out before the injection.
  [[nodiscard]] double of_scale() const { return tolerance + graduation; }
  [[nodiscard]] double total() const { return tolerance + graduation + dead_space; }
};
DoseError delivered_dose_error(const Volume& capacity, const Volume& graduation,
                               const Volume& dead_space, const Volume& expelled);

}  // namespace meniscus::engine::mechanics
