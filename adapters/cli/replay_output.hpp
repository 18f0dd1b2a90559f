// Where a replay's summary goes: standard output in the form asked for, and the report.
#pragma once

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"
#include "adapters/replay/summary.hpp"

namespace meniscus::adapters {

ExitStatus write_summary(const replay::Summary& summary, const Arguments& arguments,
                         const Console& console);

}  // namespace meniscus::adapters
