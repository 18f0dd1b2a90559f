// `meniscus history list|export|import|merge|prune`: what a store of orders holds.
#pragma once

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"

namespace meniscus::adapters {

/// How much there is and since when it is whole; with --patient, that patient's orders.
ExitStatus run_history_list(const Arguments& arguments, const Console& console);
/// Every order as a line of JSON, in the sequence of receipt, under the id that its patient has
/// now.
ExitStatus run_history_export(const Arguments& arguments, const Console& console);
/// Keeps the orders of files without judging them.
ExitStatus run_history_import(const Arguments& arguments, const Console& console);
/// Two ids are of one patient.
ExitStatus run_history_merge(const Arguments& arguments, const Console& console);
/// Drops what is older than any rule looks back.
ExitStatus run_history_prune(const Arguments& arguments, const Console& console);

}  // namespace meniscus::adapters
