// What an operation is called where a program is shown or compared with another one.
#pragma once

#include <string_view>

#include "engine/program/program.hpp"

namespace meniscus::engine {

/// "look-up", "differs-by-share"; stays the same when operations are added or removed.
std::string_view name(Op op);

}  // namespace meniscus::engine
