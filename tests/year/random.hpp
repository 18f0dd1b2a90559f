// Numbers that look random and are the same for the same seed on every machine.
//
// Source:  splitmix64 (Steele, Lea and Flood, OOPSLA 2014).
// Why own: the distributions of the standard library differ between implementations.
#pragma once

#include <cstdint>

namespace meniscus::year {

class Random {
 public:
  explicit Random(std::uint64_t seed) : state_(seed) {}

  std::uint64_t next() {
    state_ += 0x9E3779B97F4A7C15ULL;
    std::uint64_t z = state_;
    z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31U);
  }
  /// A whole number from 0, less than `bound`.
  int below(int bound) {
    return static_cast<int>(next() % static_cast<std::uint64_t>(bound > 0 ? bound : 1));
  }
  int between(int least, int most) { return least + below(most - least + 1); }
  bool percent(int share) { return below(100) < share; }

 private:
  std::uint64_t state_;
};

/// A seed of its own for the `index`-th of several things that share one seed.
inline std::uint64_t mix(std::uint64_t seed, std::uint64_t index) {
  return Random(seed ^ (index * 0xD1342543DE82EF95ULL + 1)).next();
}

}  // namespace meniscus::year
