// Contract: see recent_ids.hpp.
#include "adapters/history/recent_ids.hpp"

#include <algorithm>

namespace meniscus::adapters {

namespace {
constexpr unsigned kLooks = 4;

/// Which bit of a filter each look is at: from two halves of one hash (Kirsch and Mitzenmacher,
/// Less hashing, same performance, 2006).
std::size_t bit(std::uint64_t hash, unsigned look) {
  const std::uint64_t step = (hash >> 32U) | 1U;
  return (hash + look * step) % (RecentIds::kWords * 64);
}
std::uint64_t mask(std::size_t at) { return std::uint64_t{1} << (at % 64); }
}  // namespace

void RecentIds::add(std::uint64_t hash, double at) {
  if (filters_.empty() || (filters_.back().count >= kFull && filters_.size() < kMost))
    filters_.emplace_back();
  Filter& last = filters_.back();
  ++last.count;
  last.newest = std::max(last.newest, at);
  for (unsigned look = 0; look < kLooks; ++look) {
    const std::size_t at_bit = bit(hash, look);
    last.words[at_bit / 64] |= mask(at_bit);
  }
}

bool RecentIds::may_have(std::uint64_t hash) const {
  return std::ranges::any_of(filters_, [&](const Filter& filter) {
    for (unsigned look = 0; look < kLooks; ++look) {
      const std::size_t at_bit = bit(hash, look);
      if ((filter.words[at_bit / 64] & mask(at_bit)) == 0) return false;
    }
    return true;
  });
}

void RecentIds::drop(double oldest) {
  while (!filters_.empty() && filters_.front().newest < oldest)
    filters_.pop_front();
}

}  // namespace meniscus::adapters
