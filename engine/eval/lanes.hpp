// Small tools for masks of lanes.
#pragma once

#include <bit>
#include <cmath>

#include "engine/order/order_block.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {

/// Calls `each(lane)` for every lane in the mask, lowest first.
template <class F>
void each_lane(Lanes lanes, F&& each) {
  while (lanes != 0) {
    const auto lane = static_cast<unsigned>(std::countr_zero(lanes));
    lanes &= lanes - 1;
    each(lane);
  }
}

/// How many lanes there are.  By hand (H. S. Warren, Hacker's Delight, 5-1): a build for every
/// x86-64 machine has no instruction for it, and std::popcount is then a call.
inline unsigned count(Lanes lanes) {
  lanes -= lanes >> 1U & 0x5555555555555555U;
  lanes = (lanes & 0x3333333333333333U) + (lanes >> 2U & 0x3333333333333333U);
  lanes = (lanes + (lanes >> 4U)) & 0x0F0F0F0F0F0F0F0FU;
  return static_cast<unsigned>(lanes * 0x0101010101010101U >> 56U);
}

/// Calls `each` for every lane of the mask; where most lanes are in it for all, in a loop that the
/// compiler can turn into vector code.
template <class F>
void each_or_all(Lanes lanes, F&& each) {
  if (count(lanes) < 16) return each_lane(lanes, each);
  for (unsigned lane = 0; lane < kLanes; ++lane)
    each(lane);
}

/// Lanes among `lanes` for which `holds(lane)`.  No other lane is asked: what stands there may be
/// of an order before, and its records gone.
template <class F>
Lanes select(Lanes lanes, F&& holds) {
  Lanes result = 0;
  each_lane(lanes, [&](unsigned i) { result |= static_cast<Lanes>(holds(i)) << i; });
  return result;
}

/// a < b, a = b as compare() has it, without a branch.
inline bool below(double a, double b) {
  const double x = std::fabs(a);
  const double y = std::fabs(b);
  return a < b - kTolerance * (x > y ? x : y);
}
inline bool alike(double a, double b) { return !below(a, b) && !below(b, a); }

inline Lanes zeros(const double* numbers, Lanes lanes) {
  return select(lanes, [&](unsigned i) { return numbers[i] == 0; });
}

}  // namespace meniscus::engine
