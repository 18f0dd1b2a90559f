// Values in one writing, however an order writes them: "0.5 mL" for `500 uL`, for comparing a value
// with what it was when a question was answered.
#pragma once

#include <optional>
#include <string>

#include "engine/eval/scalar.hpp"
#include "engine/order/order_block.hpp"

namespace meniscus::engine {

/// A field of a lane.  Quantities in the unit that is usual for their dimension, to 14 digits;
/// lists as "part; part", words of a list sorted.  Nothing unless the value is known.
std::optional<std::string> one_writing(const OrderBlock& block, unsigned lane, FieldId field);

/// A value that a rule worked out.  Nothing unless it is known.
std::optional<std::string> one_writing(Scalar& scalar, NodeId id);

}  // namespace meniscus::engine
