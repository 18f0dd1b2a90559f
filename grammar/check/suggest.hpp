// "did you mean": the known name nearest to one that nobody knows.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace meniscus::grammar {

/// Offered many names, keeps the nearest one that is near enough (a third of the letters, at most
/// three).  The first of two equally near ones wins.
class Nearest {
 public:
  explicit Nearest(std::string_view wanted);
  void offer(std::string_view name);
  /// "did you mean `volume`", or `otherwise` when nothing was near.
  [[nodiscard]] std::string help(std::string_view otherwise = {}) const;
  [[nodiscard]] const std::string& best() const { return best_; }
  [[nodiscard]] std::size_t distance() const { return distance_; }

 private:
  std::string_view wanted_;
  std::string best_;
  std::size_t distance_;
};

}  // namespace meniscus::grammar
