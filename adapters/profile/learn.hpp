// A draft profile from the orders of a feed: what it carries, and what it never does.
//
// Holds:   counts of fields and the words that no table knows; no id, no free text, no number.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <string>

#include "engine/order/order_block.hpp"

namespace meniscus::adapters {

class ProfileLearner {
 public:
  void add(const engine::OrderBlock& block);
  [[nodiscard]] std::uint64_t orders() const { return orders_; }

  /// The draft as JSON: `never-carries` is filled in; what a person has to decide (words to
  /// translate, doubtful values) stands in comments, whose keys start with `_`.
  [[nodiscard]] std::string draft(const std::string& name) const;

 private:
  void add_lane(const engine::OrderBlock& block, unsigned lane);

  std::uint64_t orders_ = 0;
  std::uint64_t unreadable_ = 0;
  std::array<std::uint64_t, engine::kFieldCount> seen_{};
  std::array<std::uint64_t, engine::kFieldCount> from_text_{};
  std::array<std::uint64_t, engine::kFieldCount> doubtful_{};
  std::map<engine::FieldId, std::map<std::string, std::uint64_t>> unknown_words_;
};

}  // namespace meniscus::adapters
