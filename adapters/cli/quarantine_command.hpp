// `meniscus quarantine list|retry|discard`: messages that could not be read.
#pragma once

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"
#include "adapters/cli/log.hpp"

namespace meniscus::adapters {

/// What is held, why, and since when.
ExitStatus run_quarantine_list(const Arguments& arguments, const Console& console);
/// Reads them again, with the rules and the profile of today; what can be read is judged as by
/// `meniscus check`, and leaves the folder.
ExitStatus run_quarantine_retry(const Arguments& arguments, const Console& console, const Log& log);
ExitStatus run_quarantine_discard(const Arguments& arguments, const Console& console);

}  // namespace meniscus::adapters
