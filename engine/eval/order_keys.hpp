// What an order says beside what is its own, as a key: orders of one key differ in ids, dates, and
// the patient's age, weight and height, and in nothing else that rules read.
//
// Exact:   128 bits, mixed from all that rules read.  Of n different orders two have one key with a
//          chance of n * n / 2^129: for a thousand million orders, one in 7e20.
// States:  of what is left out the key still says whether it is known, none or missing.
// Memory:  one key a lane, kept and reused.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>
#include <vector>

#include "engine/eval/lanes.hpp"
#include "engine/order/order_block.hpp"
#include "engine/program/program.hpp"

namespace meniscus::engine {

struct OrderKey {
  std::uint64_t first = 0;
  std::uint64_t second = 0;
  friend bool operator==(const OrderKey&, const OrderKey&) = default;

  void mix(std::uint64_t word) {
    first = (first ^ word) * 0xD6E8FEB86659FD93U;
    first ^= first >> 32U;
    second = (second + word) * 0x9E3779B97F4A7C15U;
    second ^= second >> 29U;
  }
  void mix(std::string_view text);
};

/// An order's own: its value is no part of the key, only its state is.
bool is_left_out(FieldId field);

class OrderKeys {
 public:
  explicit OrderKeys(const Program& program);

  /// Works out the keys of `lanes` of `block`.
  void begin(const OrderBlock& block, Lanes lanes);
  [[nodiscard]] const OrderKey& of(unsigned lane) const { return keys_.at(lane); }

 private:
  /// What of a known value is mixed in.
  enum class Part : std::uint8_t { State, Value, WithText, List };
  struct Read {
    FieldId field{};
    Part part{};
  };
  static Part part_of(FieldId field);
  void mix_field(const OrderBlock& block, const Read& read, Lanes lanes);
  void mix_list(const OrderBlock& block, unsigned lane, std::uint64_t list);

  std::vector<Read> fields_;      // that a condition of a rule reads
  std::vector<FieldId> written_;  // and those that one reads as text, and that are not left out
  std::array<OrderKey, kLanes> keys_;
};

}  // namespace meniscus::engine
