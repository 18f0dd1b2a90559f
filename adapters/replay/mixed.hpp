// Hashes that show nothing of what they are of: for drawing, where every order is to be as likely
// as every other, and for telling shards from partitions by the same key.
#pragma once

#include <cstdint>

namespace meniscus::adapters::replay {

/// Two hashes as one.  Source: the finalizer of splitmix64 (Steele, Lea and Flood, "Fast splittable
/// pseudorandom number generators", 2014).
constexpr std::uint64_t mixed(std::uint64_t one, std::uint64_t other = 1) {
  std::uint64_t x = one + other * 0x9E3779B97F4A7C15U;
  x = (x ^ (x >> 30U)) * 0xBF58476D1CE4E5B9U;
  x = (x ^ (x >> 27U)) * 0x94D049BB133111EBU;
  return x ^ (x >> 31U);
}

}  // namespace meniscus::adapters::replay
