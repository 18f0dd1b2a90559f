// `meniscus explain`: why rules spoke about an order, or did not.
#pragma once

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"

namespace meniscus::adapters {

/// Reads the files in order, for history, and explains each version of the order that it meets.
/// Exit: Clean when it was found and explained, whatever its outcome; Unread when a file could not
/// be read; Usage when no order or rule has the name.
ExitStatus run_explain(const Arguments& arguments, const Console& console);

}  // namespace meniscus::adapters
