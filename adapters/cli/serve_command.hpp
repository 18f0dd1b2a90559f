// `meniscus serve`: HL7 v2 messages over MLLP in, answers out, until a signal ends it.
#pragma once

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"
#include "adapters/cli/log.hpp"

namespace meniscus::adapters {

ExitStatus run_serve(const Arguments& arguments, const Console& console, const Log& log);

}  // namespace meniscus::adapters
