// See spelling.hpp.  Optimal string alignment distance (restricted Damerau-Levenshtein).
#include "grammar/frontend/spelling.hpp"

#include <algorithm>
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
      const std::size_t same = a[i - 1] == b[j - 1] ? 0 : 1;
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, last[j - 1] + same});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        row[j] = std::min(row[j], before[j - 2] + 1);
      }
    }
    before.swap(last);
    last.swap(row);
  }
  return std::min(last[b.size()], limit + 1);
}

std::string nearest(std::string_view word, std::span<const std::string_view> candidates) {
  std::size_t best = word.size() / 3 + 1;  // one above what is near enough
  std::string_view near;
  if (word.size() < 3) return {};
  for (const std::string_view candidate : candidates) {
    const std::size_t distance = edit_distance(word, candidate, best);
    if (distance < best) {
      best = distance;
      near = candidate;
    }
  }
  return std::string(near);
}

}  // namespace meniscus::grammar
