// Two ids that are of one person, as a line of a history's export says it:
//
//   {"merge":{"former":"SM-0013","patient":"SM-0012"}}
//
// From then on the orders of both stand under `patient`, as after an ADT^A40.
#pragma once

#include <string>
#include <string_view>

#include "engine/order/field_text.hpp"

namespace meniscus::adapters {

/// The object at the start of `record` has `merge` as its first key.
[[nodiscard]] bool begins_merge(std::string_view record);

/// Reads the object `record` into the lane; where it is no such line, the lane is unreadable, with
/// what is wrong.
void read_merge(const engine::ReadContext& context, engine::OrderBlock& block, unsigned lane,
                std::string_view record);

/// The line, without its end.
[[nodiscard]] std::string merge_line(std::string_view former, std::string_view patient);

}  // namespace meniscus::adapters
