// The known name that is nearest to one that nobody knows: for "is `volume` meant?".
#pragma once

#include <cstddef>
#include <string_view>

namespace meniscus::adapters {

/// Edit distance (insert, delete, change, swap neighbours), ASCII letters without case; more than
/// `most` is reported as most + 1.
std::size_t name_distance(std::string_view a, std::string_view b, std::size_t most);

/// How many edits may lie between a name of this length and what was meant by it.
constexpr std::size_t near_enough(std::size_t length) { return length < 4 ? 1 : 2; }

/// Keeps the nearest of the names that are offered, if one is near enough.
class NearName {
 public:
  explicit NearName(std::string_view wanted) : wanted_(wanted) {}
  void offer(std::string_view name);
  /// Empty when nothing is near.
  [[nodiscard]] std::string_view best() const { return best_; }

 private:
  std::string_view wanted_;
  std::string_view best_;
  std::size_t distance_ = static_cast<std::size_t>(-1);
};

}  // namespace meniscus::adapters
