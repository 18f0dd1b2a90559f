// `meniscus replay`, `meniscus replay merge` and `meniscus replay labels`.
#pragma once

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"
#include "adapters/cli/log.hpp"

namespace meniscus::adapters {

/// Judges past orders with one set of rules or two, and sums up what they found.
ExitStatus run_replay(const Arguments& arguments, const Console& console, const Log& log);
/// Puts the parts of one run together.
ExitStatus run_replay_merge(const Arguments& arguments, const Console& console);
/// What readers say of the orders that a run has drawn.
ExitStatus run_replay_labels(const Arguments& arguments, const Console& console);

}  // namespace meniscus::adapters
