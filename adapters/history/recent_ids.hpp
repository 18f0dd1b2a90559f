// Which ids may have come lately: says "no" for sure, "perhaps" for the rest.
//
//   RecentIds ids;
//   ids.add(hash, now);
//   if (!ids.may_have(hash)) ...  // it was never added, or dropped as too old
//
// Method:  Bloom filters (B. H. Bloom, Space/time trade-offs in hash coding with allowable errors,
//          Communications of the ACM 13(7), 1970), one after the other as they fill, so that the
//          oldest can be dropped.  With 16 bits and 4 looks an id, one id in some 400 that never
//          came is "perhaps".
// Memory:  1 MB for each 512 Ki ids, 8 MB at most; the last filter then takes more than its share,
//          and says "perhaps" more often.
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <vector>

namespace meniscus::adapters {

class RecentIds {
 public:
  static constexpr std::size_t kWords = std::size_t{1} << 17U;  // of 64 bits, in a filter
  static constexpr std::size_t kFull = kWords * 64 / 16;        // ids in a filter
  static constexpr std::size_t kMost = 8;                       // filters

  /// `hash`: of the id, all 64 bits of it mixed well.  `at`: seconds.
  void add(std::uint64_t hash, double at);
  [[nodiscard]] bool may_have(std::uint64_t hash) const;
  /// Forgets what was added before `oldest`, in large pieces: some of it stays for longer.
  void drop(double oldest);
  void clear() { filters_.clear(); }
  [[nodiscard]] std::size_t bytes() const { return filters_.size() * kWords * 8; }

 private:
  struct Filter {
    std::vector<std::uint64_t> words = std::vector<std::uint64_t>(kWords);
    std::size_t count = 0;
    double newest = 0;
  };
  std::deque<Filter> filters_;
};

}  // namespace meniscus::adapters
