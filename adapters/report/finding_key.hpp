// What makes a finding the same finding in the next run: its fingerprint.
//
// Holds:   rule, clause, the hashed order number, the names of the blamed fields, the input's name.
// Never:   a value, a line, a column, a patient: an order that moves to another line, or whose
//          value changes and is wrong in the same way, keeps its fingerprint.
// Hashed:  SHA-256, cut.  This shortens and unifies; it hides no number that somebody can guess.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

struct FindingKey {
  std::string rule;
  std::uint16_t clause = 0;   // 1-based; 0 for a `without` or a built-in rule
  std::uint16_t without = 0;  // likewise
  std::string order;          // hashed_order(); empty: the order has no number
  std::vector<std::string> fields;
  std::string file;  // settled_name()

  /// Without an order number a key would stand for all such orders of its input.
  [[nodiscard]] bool is_sound() const { return !order.empty(); }
  /// 32 hexadecimal digits.
  [[nodiscard]] std::string fingerprint() const;
};

/// `file` is settled_name() of the input.
FindingKey key_of(const engine::Finding& finding, std::string_view order, std::string_view file);

/// 16 hexadecimal digits; empty for none.
std::string hashed_order(std::string_view order);

/// An input as reports name it: relative to the working folder where it is below that, without
/// `./` and `..`, with `/`; `-` stays.
std::string settled_name(std::string_view input);

}  // namespace meniscus::adapters
