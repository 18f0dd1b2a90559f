// The steps of complete() (field_text.hpp).  Private to engine/order.
#pragma once

#include "engine/order/field_text.hpp"

namespace meniscus::engine {

/// patient.age from patient.born and the order's own day (start, placed, message date).
void derive_age(OrderBlock& block, unsigned lane);

/// substance.code from substance.name, when there is no code or the table does not know it.
void derive_substance(const ReadContext& context, OrderBlock& block, unsigned lane);

/// An order whose coded route is no injection (the table `routes` says so) is Outside.
void mark_outside(const ReadContext& context, OrderBlock& block, unsigned lane);

}  // namespace meniscus::engine
