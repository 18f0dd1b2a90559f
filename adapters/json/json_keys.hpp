// Which field a JSON key is, by the object that it stands in.
//
// Made from:  the one table of fields.  `needle.gauge` is key `gauge` of the object `needle`, and,
//             written flat, key `needle.gauge` of the order itself.
// Fast:       records of one feed have their keys in one order, so the key that stood at this
//             place in the record before is tried first (KeyGuess); only a surprise costs a hash.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "engine/order/field.hpp"

namespace meniscus::adapters {

struct JsonKey {
  enum class Kind : std::uint8_t { Unknown, Field, Group };
  Kind kind = Kind::Unknown;
  std::uint8_t id = 0;  // FieldId, or the group's number
  friend bool operator==(const JsonKey&, const JsonKey&) = default;
};

inline constexpr std::uint8_t kRootGroup = 0;

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

/// The keys of the record before, in their order.
class KeyGuess {
 public:
  void start() { at_ = 0; }
  /// The key whose content starts at `raw`, closed by a quote.  `length` is set to its size.
  JsonKey find(std::uint8_t group, const char* raw, std::size_t& length);

 private:
  struct Guess {
    std::string key;  // with its closing quote
    std::uint8_t group = 0;
    JsonKey meaning;
  };
  std::vector<Guess> guesses_;
  std::size_t at_ = 0;
};

}  // namespace meniscus::adapters
