// The lines of an example as orders in a block.
//
// Filled in:  order.id, where none is written; patient.id, where there are earlier lines and none
//             is written; action `given` where order.given is; what stands alone in the text.
// Judged:     as of order.placed, else the row's own day, else schedule.start, else kExampleDay.
// Values:     `none` means known to be none; everything else is read as a feed would be.
#pragma once

#include <cstdint>
#include <memory>
#include <string_view>

#include "engine/order/feed.hpp"
#include "engine/order/field_text.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

/// 2026-06-01, in days since 1970-01-01.
inline constexpr std::int64_t kExampleDay = 20605;

class ExampleOrders {
 public:
  /// The program must outlive this.
  explicit ExampleOrders(const engine::Program& program) { context_ = {&program, &feed_, nullptr}; }
  ExampleOrders(const ExampleOrders&) = delete;
  ExampleOrders& operator=(const ExampleOrders&) = delete;

  /// Puts one line into the next lane of `block`, which is not full.  `id`: its order's, where it
  /// names none.
  void add(engine::OrderBlock& block, const engine::ExampleOrder& order, std::string_view id,
           bool needs_patient) const;
  /// Reads one value; a Doubt of the block says what cannot be read.
  void set(engine::OrderBlock& block, unsigned lane, engine::FieldId field,
           std::string_view text) const;

 private:
  engine::Feed feed_;
  engine::ReadContext context_;
};

/// The host's day for orders that give none; never before the day on which one was placed.
std::int64_t day_of(const engine::Example& example);

}  // namespace meniscus::adapters
