// Comparisons of whole columns, 64 lanes at once: one bit a lane.
//
// Why:   lane by lane a comparison takes some eleven instructions a lane; by twos, as every x86-64
//        machine can, half of that or less.  Vectors are the compiler's own (GCC and Clang), so
//        that no machine is named here.
// Same:  below() and alike() of lanes.hpp, bit by bit.
// Reads: all lanes of both columns, whatever they hold; only the bits of `lanes` are given back.
#pragma once

#include <cstring>

#include "engine/eval/lanes.hpp"

namespace meniscus::engine {

namespace detail {

using TwoNumbers = double __attribute__((vector_size(16)));
using TwoWords = std::uint64_t __attribute__((vector_size(16)));

template <class Two, class One>
Two two_at(const One* column, unsigned i) {
  Two two;
  std::memcpy(&two, column + i, sizeof two);
  return two;
}

/// `pair(i)` compares lanes i and i + 1: all bits of a half are set where it holds.
template <class Pair>
Lanes masks(Pair&& pair) {
  TwoWords bits = {1, 2};
  TwoWords result = {0, 0};
  for (unsigned i = 0; i < kLanes; i += 2) {
    result |= reinterpret_cast<TwoWords>(pair(i)) & bits;  // NOLINT(*-reinterpret-cast)
    bits <<= 2;
  }
  return result[0] | result[1];
}

inline TwoNumbers size_of(TwoNumbers a) {
  constexpr std::uint64_t kNoSign = ~std::uint64_t{0} >> 1U;
  const TwoWords size = reinterpret_cast<TwoWords>(a) & kNoSign;  // NOLINT(*-reinterpret-cast)
  return reinterpret_cast<TwoNumbers>(size);                      // NOLINT(*-reinterpret-cast)
}

inline auto below(TwoNumbers a, TwoNumbers b) {
  const TwoNumbers x = size_of(a);
  const TwoNumbers y = size_of(b);
  return a < b - kTolerance * (x > y ? x : y);
}

}  // namespace detail

/// Below this many lanes, one after the other is quicker.
inline bool are_few(Lanes lanes) { return count(lanes) < 12; }

inline Lanes below(const double* a, const double* b, Lanes lanes) {
  using detail::two_at;
  using Two = detail::TwoNumbers;
  if (are_few(lanes)) return select(lanes, [&](unsigned i) { return below(a[i], b[i]); });
  return lanes & detail::masks([&](unsigned i) {
           return detail::below(two_at<Two>(a, i), two_at<Two>(b, i));
         });
}

inline Lanes alike(const double* a, const double* b, Lanes lanes) {
  using detail::two_at;
  using Two = detail::TwoNumbers;
  if (are_few(lanes)) return select(lanes, [&](unsigned i) { return alike(a[i], b[i]); });
  return lanes & ~detail::masks([&](unsigned i) {
           const Two x = two_at<Two>(a, i);
           const Two y = two_at<Two>(b, i);
           return detail::below(x, y) | detail::below(y, x);
         });
}

inline Lanes equal(const std::uint64_t* a, const std::uint64_t* b, Lanes lanes) {
  using detail::two_at;
  using Two = detail::TwoWords;
  if (are_few(lanes)) return select(lanes, [&](unsigned i) { return a[i] == b[i]; });
  return lanes & detail::masks([&](unsigned i) { return two_at<Two>(a, i) == two_at<Two>(b, i); });
}

inline Lanes zeros(const std::uint64_t* a, Lanes lanes) {
  if (are_few(lanes)) return select(lanes, [&](unsigned i) { return a[i] == 0; });
  return lanes &
         detail::masks([&](unsigned i) { return detail::two_at<detail::TwoWords>(a, i) == 0; });
}

/// Lanes whose dimensions agree (0 is a zero of every kind).
inline Lanes same_kinds(const std::uint64_t* a, const std::uint64_t* b, Lanes lanes) {
  const Lanes same = equal(a, b, lanes);
  const Lanes other = lanes & ~same;  // mostly none
  return other == 0 ? same : same | zeros(a, other) | zeros(b, other);
}

}  // namespace meniscus::engine
