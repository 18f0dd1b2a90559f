// Keeps the nearest of many names.
#include "grammar/check/suggest.hpp"

#include <algorithm>

#include "grammar/frontend/spelling.hpp"

namespace meniscus::grammar {

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
