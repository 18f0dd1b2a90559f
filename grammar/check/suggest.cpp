// Damerau-Levenshtein distance (neighbours swapped, each place once) over three rows.
#include "grammar/check/suggest.hpp"

#include <algorithm>
#include <utility>
#include <vector>

namespace meniscus::grammar {

std::size_t edit_distance(std::string_view a, std::string_view b, std::size_t limit) {
  const std::size_t longer = std::max(a.size(), b.size());
  const std::size_t shorter = std::min(a.size(), b.size());
  if (longer - shorter > limit) return limit + 1;
  std::vector<std::size_t> before(b.size() + 1);
  std::vector<std::size_t> last(b.size() + 1);
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j)
    last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t change = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, change});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        row[j] = std::min(row[j], before[j - 2] + 1);
      }
    }
    std::swap(before, last);
    std::swap(last, row);
  }
  return std::min(last[b.size()], limit + 1);
}

Nearest::Nearest(std::string_view wanted)
    : wanted_(wanted),
      distance_(std::min<std::size_t>(3, std::max<std::size_t>(1, wanted.size() / 3)) + 1) {}

void Nearest::offer(std::string_view name) {
  if (name == wanted_) return;
  const std::size_t distance = edit_distance(wanted_, name, distance_ - 1);
  if (distance < distance_) {
    distance_ = distance;
    best_ = name;
  }
}

std::string Nearest::help(std::string_view otherwise) const {
  if (best_.empty()) return std::string(otherwise);
  return "did you mean `" + best_ + "`";
}

}  // namespace meniscus::grammar
