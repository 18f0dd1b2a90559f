// meniscus config: each setting of `check`, its value, and where that comes from.
#pragma once

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"

namespace meniscus::adapters {

ExitStatus run_config(const Arguments& arguments, const Console& console);

}  // namespace meniscus::adapters
