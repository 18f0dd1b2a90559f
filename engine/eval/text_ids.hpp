// A number for each distinct text, so that texts that come again and again (`50 mg`, `daily`) are
// compared once.
//
// Exact:   equal numbers mean equal bytes; the texts are kept and compared.
// Bounded: where the texts would fill more than kMost bytes a text gets no number until the next
//          make_room(), which forgets all numbers once half of that is used.
#pragma once

#include <cstdint>
#include <cstring>
#include <string>
#include <string_view>

#include "engine/base/flat_map.hpp"

namespace meniscus::engine {

class TextIds {
 public:
  /// 0: too long to be kept, or its hash is that of another text.
  std::uint32_t id(std::string_view text) {
    if (text.size() > kLongest) return 0;
    Entry& entry = entries_.find_or_add(hash(text));
    if (entry.id != 0) return text == at(entry) ? entry.id : 0;
    if (texts_.size() + text.size() > kMost) return 0;
    entry = {++last_, static_cast<std::uint32_t>(texts_.size()),
             static_cast<std::uint32_t>(text.size())};
    texts_.append(text);
    return entry.id;
  }

  /// True when every number given so far is forgotten.
  bool make_room() {
    if (texts_.size() <= kMost / 2) return false;
    entries_.clear();
    texts_.clear();
    last_ = 0;
    return true;
  }

 private:
  static constexpr std::size_t kLongest = 200;
  static constexpr std::size_t kMost = std::size_t{1} << 20U;

  struct Entry {
    std::uint32_t id = 0;
    std::uint32_t offset = 0;
    std::uint32_t length = 0;
  };

  [[nodiscard]] std::string_view at(const Entry& entry) const {
    return std::string_view(texts_).substr(entry.offset, entry.length);
  }

  /// Eight bytes at a time, mixed by multiplication and shift; never 0.
  static std::uint64_t hash(std::string_view text) {
    std::uint64_t h = 0x9E3779B97F4A7C15U ^ text.size();
    while (!text.empty()) {
      std::uint64_t word = 0;
      const std::size_t n = text.size() < sizeof word ? text.size() : sizeof word;
      std::memcpy(&word, text.data(), n);
      h = (h ^ word) * 0xD6E8FEB86659FD93U;
      h ^= h >> 32U;
      text.remove_prefix(n);
    }
    return h | 1U;
  }

  FlatMap<Entry> entries_;
  std::string texts_;
  std::uint32_t last_ = 0;
};

}  // namespace meniscus::engine
