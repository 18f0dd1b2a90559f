// Injection mechanics and syringe tolerances against tables.
//
// Sources:
//   ISO 7886-1, tolerance on expelled volume: values of the 1993 edition's Table 1, from memory
//   (the 2017 edition was not read). Hagen-Poiseuille: the closed formula dP = 128 eta L Q / (pi
//   d^4), F = dP pi/4 D^2, worked out by hand for nominal needle bores (needle gauge comparison
//   chart, Birmingham wire gauge) and a 3 mL plastic barrel of 8.59 mm.  No published worked
//   example with all inputs was found.
#include <gtest/gtest.h>

#include "engine/mechanics/injection.hpp"

namespace meniscus::engine::mechanics {
namespace {

Volume millilitres(double ml) { return ml * 1e-6 * si::cubic_meter; }
Length millimetres(double mm) { return mm * 1e-3 * si::meter; }
Viscosity millipascal_seconds(double v) { return v * 1e-3 * si::pascal * si::second; }

struct Tolerance {
  double capacity, expelled, allowed;
};
class Iso7886 : public ::testing::TestWithParam<Tolerance> {};

TEST_P(Iso7886, AllowsTheTabledError) {
  const Tolerance& t = GetParam();
  const Volume allowed = syringe_tolerance(millilitres(t.capacity), millilitres(t.expelled));
  EXPECT_NEAR(allowed / millilitres(1), t.allowed, 1e-12);
}
INSTANTIATE_TEST_SUITE_P(Table1, Iso7886,
                         ::testing::Values(Tolerance{1, 0.10, 0.017}, Tolerance{1, 0.20, 0.019},
                                           Tolerance{1, 0.25, 0.020}, Tolerance{1, 0.50, 0.025},
                                           Tolerance{3, 0.30, 0.051}, Tolerance{3, 0.50, 0.055},
                                           Tolerance{3, 1.00, 0.065}, Tolerance{3, 2.00, 0.100},
                                           Tolerance{5, 1.00, 0.085}, Tolerance{10, 1.00, 0.160},
                                           Tolerance{10, 5.00, 0.200}));

TEST(Iso7886, ErrorAtAFifthOfTheCapacityIsTheArithmeticBehindTheFifthRule) {
  // 9.5 % below 5 mL and 8.5 % from 5 mL up, before half a graduation is added.
  EXPECT_NEAR(delivered_dose_error(millilitres(1), millilitres(0), millilitres(0.2)), 0.095, 1e-9);
  EXPECT_NEAR(delivered_dose_error(millilitres(5), millilitres(0), millilitres(1)), 0.085, 1e-9);
  EXPECT_NEAR(delivered_dose_error(millilitres(1), millilitres(0.01), millilitres(0.2)),
              0.095 + 0.005 / 0.2, 1e-9);
}

struct Push {
  const char* what;
  double viscosity, bore, newtons;
};
class PlungerForce : public ::testing::TestWithParam<Push> {};

TEST_P(PlungerForce, OfOneMillilitreInTenSecondsThroughAnInch) {
  const Push& p = GetParam();
  const Flow flow = millilitres(0.1) / (1.0 * si::second);
  const Force force = plunger_force({millimetres(p.bore), millimetres(25.4)}, millimetres(8.59),
                                    millipascal_seconds(p.viscosity), flow);
  EXPECT_NEAR(force / si::newton, p.newtons, 0.006 * p.newtons + 0.005) << p.what;
}
INSTANTIATE_TEST_SUITE_P(NominalBores, PlungerForce,
                         ::testing::Values(Push{"water, 25 G", 0.89, 0.260, 1.17},
                                           Push{"10 mPa.s, 22 G", 10, 0.413, 2.06},
                                           Push{"40 mPa.s, 21 G", 40, 0.514, 3.44},
                                           Push{"60 mPa.s, 23 G", 60, 0.337, 27.90},
                                           Push{"60 mPa.s, 25 G", 60, 0.260, 78.75},
                                           Push{"castor oil, 18 G", 700, 0.838, 8.51},
                                           Push{"castor oil, 30 G", 700, 0.159, 6569}));

TEST(PressureDrop, OfASeedOilThrough23And25Gauge) {
  const Flow flow = millilitres(0.1) / (1.0 * si::second);
  const Viscosity oil = millipascal_seconds(60);
  const Pressure wide = pressure_drop({millimetres(0.337), millimetres(25.4)}, oil, flow);
  const Pressure thin = pressure_drop({millimetres(0.260), millimetres(25.4)}, oil, flow);
  EXPECT_NEAR(wide / si::pascal, 481.4e3, 0.2e3);
  EXPECT_NEAR(thin / si::pascal, 1358.8e3, 0.5e3);
  EXPECT_NEAR(thin / wide, 2.82, 0.005);
}

TEST(TimeToInject, UndoesPlungerForce) {
  const Needle needle{millimetres(0.337), millimetres(25.4)};
  const Viscosity oil = millipascal_seconds(60);
  const Flow flow = millilitres(0.1) / (1.0 * si::second);
  const Force force = plunger_force(needle, millimetres(8.59), oil, flow);
  const Duration time = time_to_inject(needle, millimetres(8.59), oil, millilitres(1), force);
  EXPECT_NEAR(time / si::second, 10.0, 1e-9);
}

}  // namespace
}  // namespace meniscus::engine::mechanics
