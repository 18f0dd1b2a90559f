// `meniscus check`: orders in, verdicts out.
#pragma once

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"
#include "adapters/cli/log.hpp"

namespace meniscus::adapters {

ExitStatus run_check(const Arguments& arguments, const Console& console, const Log& log);

/// Whether a verdict counts as found: its outcome, or the gravest finding of an order that is only
/// recorded or outside.
bool is_found(const engine::Verdict& verdict, engine::Outcome fail_at);

}  // namespace meniscus::adapters
