// Hagen-Poiseuille, and the tolerance of ISO 7886-1.
#include "engine/mechanics/injection.hpp"

#include <algorithm>
#include <numbers>

#include <boost/units/pow.hpp>

#include "engine/quantity/quantity.hpp"

namespace meniscus::engine::mechanics {

using boost::units::pow;
using std::numbers::pi;

namespace {

const Pressure kAtmosphere = 101325.0 * si::pascal;  // standard atmosphere, exact by definition

Duration time_of_flow(const Needle& needle, const Viscosity& viscosity, const Volume& volume,
                      const Pressure& pressure) {
  return Duration(volume * 128.0 * viscosity * needle.length /
                  (pi * pow<4>(needle.bore) * pressure));
}

Area cross_section(const Length& diameter) { return pi / 4.0 * pow<2>(diameter); }

}  // namespace

Pressure pressure_drop(const Needle& needle, const Viscosity& viscosity, const Flow& flow) {
  return Pressure(128.0 * viscosity * needle.length * flow / (pi * pow<4>(needle.bore)));
}

Force plunger_force(const Needle& needle, const Length& barrel, const Viscosity& viscosity,
                    const Flow& flow) {
  return Force(pressure_drop(needle, viscosity, flow) * cross_section(barrel));
}

Duration time_to_inject(const Needle& needle, const Length& barrel, const Viscosity& viscosity,
                        const Volume& volume, const Force& force) {
  return time_of_flow(needle, viscosity, volume, Pressure(force / cross_section(barrel)));
}

Duration time_to_draw_up(const Needle& needle, const Length& barrel, const Viscosity& viscosity,
                         const Volume& volume, const Force& force) {
  const Pressure suction = std::min(Pressure(force / cross_section(barrel)), kAtmosphere);
  return time_of_flow(needle, viscosity, volume, suction);
}

Volume syringe_tolerance(const Volume& capacity, const Volume& expelled) {
  const Volume five_millilitres = 5e-6 * si::cubic_meter;
  const bool small = compare(capacity.value(), five_millilitres.value()) < 0;
  if (compare(expelled.value(), 0.5 * capacity.value()) < 0)
    return 0.015 * capacity + (small ? 0.02 : 0.01) * expelled;
  return (small ? 0.05 : 0.04) * expelled;
}

DoseError delivered_dose_error(const Volume& capacity, const Volume& graduation,
                               const Volume& dead_space, const Volume& expelled) {
  return {syringe_tolerance(capacity, expelled) / expelled, 0.5 * graduation / expelled,
          dead_space / expelled};
}

}  // namespace meniscus::engine::mechanics
