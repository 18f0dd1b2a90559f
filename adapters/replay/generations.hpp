// A memory of orders that forgets: what was put in stays for at least 400 and less than 1,200 days
// of the orders' own time.
//
// Same:  what is found depends on the days given, not on what else is in: it is in the same stretch
//        of 400 days or in the one before it.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <utility>

#include "engine/base/flat_map.hpp"

namespace meniscus::adapters::replay {

template <class T>
class Generations {
 public:
  /// Null where there is none.  `key` is not 0.
  [[nodiscard]] T* find(std::uint64_t key, std::int64_t day) {
    for (const std::int64_t number : {number_of(day), number_of(day) - 1}) {
      Stretch& stretch = stretches_.at(place(number));
      if (stretch.number != number) continue;
      if (T* found = stretch.values.find(key)) return found;
    }
    return nullptr;
  }

  /// Puts a value in, in the place of a former one.
  void put(std::uint64_t key, std::int64_t day, T value) {
    erase(key);
    Stretch& stretch = stretches_.at(place(number_of(day)));
    if (stretch.number != number_of(day)) stretch = Stretch{number_of(day), {}};
    stretch.values.find_or_add(key) = std::move(value);
  }

  void erase(std::uint64_t key) {
    for (Stretch& stretch : stretches_)
      stretch.values.erase(key);
  }

 private:
  static constexpr std::int64_t kDays = 400;
  struct Stretch {
    std::int64_t number = -1;
    engine::FlatMap<T> values;
  };
  static std::int64_t number_of(std::int64_t day) { return (day + 1'000'000) / kDays; }
  static std::size_t place(std::int64_t number) { return static_cast<std::size_t>(number % 3); }

  std::array<Stretch, 3> stretches_;
};

}  // namespace meniscus::adapters::replay
