// A block of trial orders: copies of one order, each with one candidate's change.
//
// Copies:  only what some rule reads, and the day; the patient's records are those of the order.
// Derived: an age that was worked out from the birth date is worked out again where that date or
// the
//          order's own day changes.
// Memory:  the block is cleared and filled again.
#pragma once

#include <array>
#include <span>
#include <string>
#include <vector>

#include "engine/eval/facts.hpp"
#include "engine/slips/candidates.hpp"
#include "engine/slips/dependence.hpp"

namespace meniscus::engine::slips {

class Trial {
 public:
  Trial(const Dependence& dependence, const Days& days);

  /// One lane a candidate, at most kLanes, with the changes and the fields of `first`.  `order`:
  /// the facts of the order itself.
  void fill(const OrderFacts& order, std::span<const Candidate> candidates, const FieldSet& first);
  /// Copies the other fields, for the few lanes that go on.
  void complete(const OrderFacts& order, Lanes lanes);
  /// Writes the changed fields of a lane as text, for the rules that read text.
  void write_text(unsigned lane, const Candidate& candidate);

  [[nodiscard]] const OrderBlock& block() const { return block_; }
  [[nodiscard]] std::span<const OrderFacts> facts() const { return {facts_.data(), block_.size()}; }
  /// Lanes in which `field` differs from the order's.
  [[nodiscard]] Lanes changed(FieldId field) const { return changed_[index(field)]; }

 private:
  void copy_fields(const OrderFacts& order, bool first, Lanes lanes);
  void copy_field(const OrderFacts& order, FieldId field, Lanes lanes);
  void change(unsigned lane, const Candidate& candidate, const OrderFacts& order);
  void set_day(unsigned lane, const OrderFacts& order);

  const Days days_;
  std::vector<FieldId> copied_;
  OrderBlock block_;
  std::array<OrderFacts, kLanes> facts_;
  std::array<Lanes, kFieldCount> changed_{};
  FieldSet first_;
  Lanes aged_ = 0;               // lanes whose age is worked out anew
  std::vector<ListItem> items_;  // scratch
  std::string text_;             // scratch
};

}  // namespace meniscus::engine::slips
