// Values of short texts that were read before.
//
// Why:     a file of orders says the same few hundred texts again and again (`50 mg`, `25 G`,
//          `intramuscular`); finding one here costs a tenth of reading it.
// Exact:   field and all bytes are compared.  One memo serves one way of reading (program, feed).
// Bounded: kEntries texts; a new one takes the place of an old one.
#pragma once

#include <array>
#include <bit>
#include <cstdint>
#include <cstring>
#include <string_view>
#include <vector>

#include "engine/order/field.hpp"
#include "engine/order/value.hpp"

namespace meniscus::engine {

class ValueMemo {
 public:
  static constexpr std::size_t kLongest = 32;  // bytes

  /// Text and field as words that can be compared at once.
  struct Key {
    std::array<std::uint64_t, 4> words{};
    std::uint32_t rest = 0;  // length and field; 0 in an empty entry
    /// Without a branch a word, and without a call.
    friend bool operator==(const Key& a, const Key& b) {
      return ((a.words[0] ^ b.words[0]) | (a.words[1] ^ b.words[1]) | (a.words[2] ^ b.words[2]) |
              (a.words[3] ^ b.words[3]) | (a.rest ^ b.rest)) == 0;
    }
  };
  /// `text` is not empty and at most kLongest bytes long.
  static Key key(FieldId field, std::string_view text) {
    Key key;
    const char* const p = text.data();
    const std::size_t n = text.size();
    if (n >= 16) {
      key.words = {word(p), word(p + 8), word(p + n - 16), word(p + n - 8)};
    } else if (n >= 8) {
      key.words[0] = word(p);
      key.words[1] = word(p + n - 8);
    } else if (n >= 4) {
      key.words[0] = std::uint64_t{half(p)} << 32U | half(p + n - 4);
    } else {
      const auto byte = [p](std::size_t i) { return static_cast<unsigned char>(p[i]); };
      key.words[0] = std::uint64_t{byte(0)} << 16U | std::uint64_t{byte(n / 2)} << 8U | byte(n - 1);
    }
    key.rest = static_cast<std::uint32_t>(n) << 8U | static_cast<std::uint32_t>(field);
    return key;
  }

  /// Null when this text was not read as this field of late.
  [[nodiscard]] const Value* find(const Key& key, std::string_view text) {
    if (entries_.empty()) return nullptr;
    Entry& entry = entries_[slot(key)];
    if (entry.key != key) return nullptr;
    if (entry.own_text) entry.value.text = text;
    return &entry.value;
  }
  /// Keeps what `text` was read as.  A value whose text is not `text` itself points to what lives
  /// as long as the program.
  void keep(const Key& key, const Value& value, std::string_view text) {
    if (entries_.empty()) entries_.resize(kEntries);
    const bool own = value.text.data() == text.data() && !value.text.empty();
    entries_[slot(key)] = {key, value, own};
  }

 private:
  static constexpr std::size_t kEntries = 1024;

  struct Entry {
    Key key;
    Value value;
    bool own_text = false;
  };

  static std::uint64_t word(const char* at) {
    std::uint64_t word = 0;
    std::memcpy(&word, at, sizeof word);
    return word;
  }
  static std::uint32_t half(const char* at) {
    std::uint32_t half = 0;
    std::memcpy(&half, at, sizeof half);
    return half;
  }
  static std::size_t slot(const Key& key) {
    constexpr unsigned kBits = std::countr_zero(kEntries);
    const std::uint64_t mixed = key.words[0] ^ std::rotl(key.words[1], 19) ^
                                std::rotl(key.words[2], 31) ^ std::rotl(key.words[3], 43) ^
                                std::uint64_t{key.rest} << 20U;
    return static_cast<std::size_t>((mixed ^ mixed >> 29U) * 0xD6E8FEB86659FD93U >> (64 - kBits));
  }

  std::vector<Entry> entries_;
};

}  // namespace meniscus::engine
