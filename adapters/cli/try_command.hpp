// `meniscus rules try`: what a rule file would change on given orders.
#pragma once

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"

namespace meniscus::adapters {

/// Judges the orders with and without the files of the command, and says the difference.  With
/// --watch, again each time that one of the files or a table beside it is saved.
ExitStatus run_rules_try(const Arguments& arguments, const Console& console);

}  // namespace meniscus::adapters
