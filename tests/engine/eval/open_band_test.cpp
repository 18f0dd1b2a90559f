// A band with an open end (`18 years to any`) holds every value from its lower end on.
#include <gtest/gtest.h>

#include <limits>

#include "engine/eval/primitives.hpp"

namespace meniscus::engine {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
Value time_of(double seconds) { return Value::quantity(seconds, dim::kTime); }

TEST(OpenBand, HoldsItsLowerEndAndEverythingAbove) {
  const Value adults = make_band(18, kInfinity, dim::kTime);
  EXPECT_EQ(primitives::includes(adults, time_of(18)), Truth::True);
  EXPECT_EQ(primitives::includes(adults, time_of(1e12)), Truth::True);
  EXPECT_EQ(primitives::includes(adults, time_of(17.9)), Truth::False);
}

TEST(OpenBand, OpenBelowHoldsEverythingUnderItsUpperEnd) {
  const Value children = make_band(-kInfinity, 18, dim::kTime);
  EXPECT_EQ(primitives::includes(children, time_of(0)), Truth::True);
  EXPECT_EQ(primitives::includes(children, time_of(18)), Truth::False);
}

}  // namespace
}  // namespace meniscus::engine
