// `meniscus check`: orders in, verdicts out.
#pragma once

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"
#include "adapters/cli/log.hpp"

namespace meniscus::adapters {

ExitStatus run_check(const Arguments& arguments, const Console& console, const Log& log);

}  // namespace meniscus::adapters
