// meniscus baseline prune: entries of a baseline that no longer occur are taken out.
#pragma once

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"

namespace meniscus::adapters {

/// Judges the orders of --on.  An entry goes when its input was among them and its finding is not
/// there any more; entries of other inputs stay.  Where an input or an order could not be read,
/// the file stays as it is.
ExitStatus run_baseline_prune(const Arguments& arguments, const Console& console);

}  // namespace meniscus::adapters
