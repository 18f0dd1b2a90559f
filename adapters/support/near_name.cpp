// Edit distance over short names (contract: near_name.hpp).
#include "adapters/support/near_name.hpp"

#include <algorithm>
#include <array>

#include "engine/base/ascii.hpp"

namespace meniscus::adapters {
namespace {

using engine::ascii::lower;

constexpr std::size_t kLongest = 64;

}  // namespace

std::size_t name_distance(std::string_view a, std::string_view b, std::size_t most) {
  const std::size_t gap = a.size() > b.size() ? a.size() - b.size() : b.size() - a.size();
  if (gap > most || b.size() >= kLongest || a.size() >= kLongest) return most + 1;
  std::array<std::array<std::size_t, kLongest>, 3> rows{};
  for (std::size_t j = 0; j <= b.size(); ++j)
    rows[0][j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    auto& row = rows[i % 3];
    const auto& above = rows[(i + 2) % 3];
    const auto& two_above = rows[(i + 1) % 3];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const bool same = lower(a[i - 1]) == lower(b[j - 1]);
      row[j] = std::min({above[j] + 1, row[j - 1] + 1, above[j - 1] + (same ? 0 : 1)});
      const bool swapped = i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) &&
                           lower(a[i - 2]) == lower(b[j - 1]);
      if (swapped) row[j] = std::min(row[j], two_above[j - 2] + 1);
    }
  }
  return std::min(rows[a.size() % 3][b.size()], most + 1);
}

void NearName::offer(std::string_view name) {
  const std::size_t most = near_enough(wanted_.size());
  const std::size_t distance = name_distance(wanted_, name, most);
  if (distance > most || distance >= distance_) return;
  distance_ = distance;
  best_ = name;
}

}  // namespace meniscus::adapters
