// The whole program behind main(): the command that the words ask for.
#pragma once

#include <string>
#include <vector>

#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"

namespace meniscus::adapters {

/// `arguments` without the program's name.  Output that could not be written makes any command's
/// status Internal, with a sentence that says why.
ExitStatus run_program(const std::vector<std::string>& arguments, const Console& console);

}  // namespace meniscus::adapters
