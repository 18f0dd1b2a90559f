// `meniscus answer` keeps what somebody answered to a question; `meniscus answers` lists what is
// kept.
#pragma once

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"

namespace meniscus::adapters {

/// Judges the orders, finds the question of the rule, and adds one line to the file of answers for
/// each that it asks.  Usage, and nothing is kept, where there is no question to answer.
ExitStatus run_answer(const Arguments& arguments, const Console& console);

/// What is kept, and whether it is in force; with --on, what became of it on these orders.  Usage
/// where a line cannot be read.
ExitStatus run_answers(const Arguments& arguments, const Console& console);

}  // namespace meniscus::adapters
