// Counts the records of a run that stand behind an order of the same patient and are older than it:
// that order was judged without them.
//
// Older:   a given injection by its day, an order by the day on which it was placed; a record
//          without such a day is not counted.  Within a day no order is expected: clocks and
//          charts of one day come in as they are written.
// Memory:  a day for each patient that has an order.
#pragma once

#include <cstdint>
#include <string>

#include "engine/base/flat_map.hpp"
#include "engine/order/order_block.hpp"

namespace meniscus::adapters {

class LateRecords {
 public:
  /// The records of a block, in the order of the input.
  void add(const engine::OrderBlock& block);
  /// What is to be said at the end of the run; empty where none was late.
  [[nodiscard]] std::string sentence() const;

 private:
  void add(const engine::OrderBlock& block, unsigned lane);

  engine::FlatMap<std::int32_t> newest_;  // by patient, the day of its newest order; 0: none
  std::uint64_t injections_ = 0;
  std::uint64_t orders_ = 0;
};

}  // namespace meniscus::adapters
