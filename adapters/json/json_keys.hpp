// Which field a JSON key is, by the object that it stands in.
//
// Made from:  the one table of fields.  `needle.gauge` is key `gauge` of the object `needle`, and,
//             written flat, key `needle.gauge` of the order itself.
// Fast:       records of one feed have their keys in much the same order, so the two keys that last
//             followed the key before are tried first (KeyGuess); only a surprise costs a hash.
#pragma once

#include <array>
#include <cstdint>
#include <cstring>
#include <string>
#include <string_view>
#include <vector>

#include "engine/order/order_block.hpp"

namespace meniscus::adapters {

struct JsonKey {
  enum class Kind : std::uint8_t { Unknown, Field, Group };
  Kind kind = Kind::Unknown;
  std::uint8_t id = 0;  // FieldId, or the group's number
  friend bool operator==(const JsonKey&, const JsonKey&) = default;
};

inline constexpr std::uint8_t kRootGroup = 0;
inline constexpr std::size_t kMostGroups = 24;  // with the root

class JsonKeys {
 public:
  /// The one table; immutable, shared by all readers.
  static const JsonKeys& instance();

  [[nodiscard]] JsonKey find(std::uint8_t group, std::string_view key) const;
  /// The known key of `group` that is nearest to `key`; empty when none is near.
  [[nodiscard]] std::string_view near(std::uint8_t group, std::string_view key) const;
  [[nodiscard]] std::string_view group_name(std::uint8_t group) const { return groups_[group]; }
  /// The group that `field` belongs to; kRootGroup for a field of the order itself.
  [[nodiscard]] std::uint8_t group_of(engine::FieldId field) const;
  [[nodiscard]] const std::vector<engine::FieldId>& fields_of(std::uint8_t group) const {
    return members_[group];
  }

 private:
  JsonKeys();
  void add(std::uint8_t group, std::string_view key, JsonKey meaning);

  struct Row {
    std::string_view key;
    std::uint8_t group = 0;
    JsonKey meaning;
  };
  static constexpr std::size_t kSlots = 1024;
  static std::size_t slot(std::uint8_t group, std::string_view key);

  std::vector<std::string_view> groups_;
  std::vector<std::vector<engine::FieldId>> members_;
  std::vector<Row> slots_;
};

/// Appends the pointer to the value of `field` at `origin` in `record`, when the key before it says
/// that it is that field's own; false when only a walk from the record's start can tell.
bool append_own_pointer(std::string_view record, engine::FieldId field, engine::Origin origin,
                        std::string& pointer);

/// Which keys followed which, in the records before.
class KeyGuess {
 public:
  KeyGuess() : next_(2 * kKeys) {}

  void start() { before_ = kKeys - 1; }
  /// The key whose content starts at `raw`, closed by a quote, and its `length`, when it is one of
  /// those that last stood here; else length 0.  16 bytes from `raw` on can be read.
  JsonKey find(std::uint8_t group, const char* raw, std::size_t& length) {
    const Words words = words_at(raw);
    for (std::size_t i = 2 * before_; i < 2 * before_ + 2; ++i) {
      const Guess& guess = next_[i];
      const bool same = (((words[0] ^ guess.key[0]) & guess.mask[0]) |
                         ((words[1] ^ guess.key[1]) & guess.mask[1])) == 0;
      if (!same || guess.length == 0 || guess.group != group) continue;
      length = guess.length;
      before_ = place_of(guess.meaning);
      return guess.meaning;
    }
    length = 0;
    return {};
  }
  /// A key that was not guessed: looked up, and guessed the next time.
  JsonKey look_up(std::uint8_t group, std::string_view key);

 private:
  static constexpr std::size_t kKeys = 256;  // fields, then groups, then the start of a record
  static constexpr std::size_t kShort = 16;  // bytes compared at once

  using Words = std::array<std::uint64_t, 2>;
  struct Guess {
    Words key{};              // with its closing quote
    Words mask{};             // the bytes of it that count
    std::uint8_t length = 0;  // without the quote; 0: no guess
    std::uint8_t group = 0;
    JsonKey meaning;
  };
  static std::size_t place_of(JsonKey key) {
    constexpr std::size_t kFirstGroup = 128;
    static_assert(engine::kFieldCount <= kFirstGroup);
    return key.kind == JsonKey::Kind::Group ? kFirstGroup + key.id : key.id;
  }
  static Words words_at(const char* at) {
    Words words{};
    std::memcpy(words.data(), at, sizeof words);
    return words;
  }
  void learn(std::uint8_t group, std::string_view key, JsonKey meaning);

  std::vector<Guess> next_;  // two for each key
  std::size_t before_ = kKeys - 1;
};

}  // namespace meniscus::adapters
