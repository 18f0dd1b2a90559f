// A hash table from 64-bit hashes (words, ids) to values, in one array.
//
// Why:     one probe instead of a walk from node to node; the keys are hashes already, so they are
//          only mixed, not hashed again.
// Limits:  key 0 (kNoWord) is not allowed.  Adding and erasing move the values: addresses are good
//          until the next find_or_add() or erase().
#pragma once

#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

namespace meniscus::engine {

template <class T>
class FlatMap {
 public:
  [[nodiscard]] std::size_t size() const { return size_; }

  [[nodiscard]] const T* find(std::uint64_t key) const {
    if (entries_.empty()) return nullptr;
    for (std::size_t at = start(key);; at = (at + 1) & (entries_.size() - 1)) {
      if (entries_[at].first == key) return &entries_[at].second;
      if (entries_[at].first == 0) return nullptr;
    }
  }
  [[nodiscard]] T* find(std::uint64_t key) {
    return const_cast<T*>(std::as_const(*this).find(key));  // NOLINT: the table itself is writable
  }

  /// The value of `key`, made by default where there is none.
  T& find_or_add(std::uint64_t key) {
    if ((size_ + 1) * 4 > entries_.size() * 3) grow();
    std::size_t at = start(key);
    while (entries_[at].first != key) {
      if (entries_[at].first == 0) {
        entries_[at].first = key;
        ++size_;
        break;
      }
      at = (at + 1) & (entries_.size() - 1);
    }
    return entries_[at].second;
  }

  /// Takes a value out; nothing where there is none.
  void erase(std::uint64_t key) {
    if (find(key) == nullptr) return;
    const std::size_t last = entries_.size() - 1;
    std::size_t gap = start(key);
    while (entries_[gap].first != key)
      gap = (gap + 1) & last;
    // What was pushed behind the gap by others moves up, so that it is still found.
    for (std::size_t at = (gap + 1) & last; entries_[at].first != 0; at = (at + 1) & last) {
      const std::size_t from_start = (at - start(entries_[at].first)) & last;
      if (from_start < ((at - gap) & last)) continue;
      entries_[gap] = std::move(entries_[at]);
      gap = at;
    }
    entries_[gap] = {};
    --size_;
  }

  /// `use(key, value)` of all, in no order.
  template <class Use>
  void for_each(Use&& use) {
    for (auto& [key, value] : entries_)
      if (key != 0) use(key, value);
  }

  /// Forgets all; the room is kept.
  void clear() {
    for (auto& entry : entries_)
      entry = {};
    size_ = 0;
  }

 private:
  static constexpr std::size_t kFirst = 64;

  /// Fibonacci hashing (Knuth, The Art of Computer Programming 3, 6.4): the high bits of a product.
  [[nodiscard]] std::size_t start(std::uint64_t key) const {
    return static_cast<std::size_t>((key * 0x9E3779B97F4A7C15U) >> shift_);
  }

  void grow() {
    std::vector<std::pair<std::uint64_t, T>> old = std::move(entries_);
    entries_ = std::vector<std::pair<std::uint64_t, T>>(old.empty() ? kFirst : old.size() * 2);
    shift_ = old.empty() ? 64U - 6U : shift_ - 1U;
    for (auto& [key, value] : old) {
      if (key == 0) continue;
      std::size_t at = start(key);
      while (entries_[at].first != 0)
        at = (at + 1) & (entries_.size() - 1);
      entries_[at].first = key;
      entries_[at].second = std::move(value);
    }
  }

  std::vector<std::pair<std::uint64_t, T>> entries_;  // a power of two
  std::size_t size_ = 0;
  unsigned shift_ = 64;
};

}  // namespace meniscus::engine
