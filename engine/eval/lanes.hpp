// Small tools for masks of lanes.
#pragma once

#include <bit>

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

/// Lanes among `lanes` for which `holds(lane)`.
template <class F>
Lanes select(Lanes lanes, F&& holds) {
  Lanes result = 0;
  each_lane(lanes, [&](unsigned i) { result |= static_cast<Lanes>(holds(i)) << i; });
  return result;
}

inline Lanes zeros(const double* numbers, Lanes lanes) {
  return select(lanes, [&](unsigned i) { return numbers[i] == 0; });
}

/// Lanes whose dimensions agree (0 is a zero of every kind).
inline Lanes same_kinds(const std::uint64_t* a, const std::uint64_t* b, Lanes lanes) {
  return select(lanes, [&](unsigned i) { return a[i] == b[i] || a[i] == 0 || b[i] == 0; });
}

}  // namespace meniscus::engine
