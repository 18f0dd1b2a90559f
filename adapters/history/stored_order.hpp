// An order as a store keeps it: one line of JSON that the program's own reader reads again.
//
// Kept:      every field that later orders may be judged by, as text that any feed reads as the
// same
//            value (the fields' names are docs/fields.md's, written flat).
// Left out:  who ordered it and for what, every free text (what was read from it is kept), lists
//            (what is remembered has none), and what follows from other fields (the age from the
//            birth date).
// Added:     `order.placed`, the day that the order was judged as of, where it has no date of its
// own;
//            without it a later run could not know when it was.
#pragma once

#include <string>

#include "engine/order/order_block.hpp"

namespace meniscus::adapters {

/// Appends the line, without its end.  `day`: that the order is judged as of, days since
/// 1970-01-01.
void append_stored_order(std::string& out, const engine::OrderBlock& block, unsigned lane,
                         std::int64_t day);

}  // namespace meniscus::adapters
