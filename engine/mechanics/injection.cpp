// Hagen-Poiseuille, and the tolerance of ISO 7886-1.
#include "engine/mechanics/injection.hpp"

#include <numbers>

#include <boost/units/pow.hpp>

#include "engine/quantity/quantity.hpp"

namespace meniscus::engine::mechanics {

using boost::units::pow;
using std::numbers::pi;

namespace {

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
  const Pressure pressure(force / cross_section(barrel));
  return Duration(volume * 128.0 * viscosity * needle.length /
                  (pi * pow<4>(needle.bore) * pressure));
}

Volume syringe_tolerance(const Volume& capacity, const Volume& expelled) {
  const Volume five_millilitres = 5e-6 * si::cubic_meter;
  const bool small = compare(capacity.value(), five_millilitres.value()) < 0;
  if (compare(expelled.value(), 0.5 * capacity.value()) < 0)
    return 0.015 * capacity + (small ? 0.02 : 0.01) * expelled;
  return (small ? 0.05 : 0.04) * expelled;
}

double delivered_dose_error(const Volume& capacity, const Volume& graduation,
                            const Volume& expelled) {
  return (syringe_tolerance(capacity, expelled) + 0.5 * graduation) / expelled;
}

}  // namespace meniscus::engine::mechanics
