// HL7 v2 messages into PlainOrder, over an index of separators.
#pragma once

#include <cstddef>
#include <functional>
#include <string_view>

#include "tests/bench/yardstick/plain_order.hpp"

namespace meniscus::bench {

/// Calls `next` for every message that OrderMaker::append_message() has made.  Gives back how many
/// there were.
std::size_t read_plain_messages(std::string_view messages,
                                const std::function<void(const PlainOrder&)>& next);

}  // namespace meniscus::bench
