// Values as an order would say them.
#pragma once

#include <string>
#include <string_view>

#include "engine/order/field.hpp"
#include "engine/order/order_block.hpp"
#include "engine/order/value.hpp"

namespace meniscus::engine::slips {

/// A quantity as a number in the unit that it is written in; the usual unit of its dimension where
/// the text shows none (`1:1000`, `weekly`).
struct Measure {
  double number = 0;
  double factor = 1;      // base = number * factor
  std::string_view unit;  // part of the text, or a constant
};
Measure measure(const Value& quantity, std::string_view written);

/// `value` of `field` into `out`: a quantity in `unit`, or else in the unit that `like` is written
/// in.
void write_value(FieldId field, const Value& value, std::string_view like, std::string_view unit,
                 std::string& out);

/// A known value, no list, as text that any feed reads as the same value: as it was written where
/// that says it by itself, else as the program read it.
void write_plainly(const OrderBlock& block, unsigned lane, FieldId field, std::string& out);

}  // namespace meniscus::engine::slips
