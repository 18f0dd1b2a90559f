// JSON Lines into PlainOrder, in one pass over each line.
#pragma once

#include <cstddef>
#include <functional>
#include <string_view>

#include "tests/bench/yardstick/plain_order.hpp"

namespace meniscus::bench {

/// Calls `next` for every line that is a JSON object; `lines` is followed by simdjson's padding.
/// Gives back how many there were.
std::size_t read_plain_orders(std::string_view lines,
                              const std::function<void(const PlainOrder&)>& next);

}  // namespace meniscus::bench
