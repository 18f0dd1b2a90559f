// What is no mistake in a rule set and worth a second look: the warnings R06xx.
//
// Call:   once, on a finished program without errors.
// Gives:  diagnostics in the workspace's report; it changes nothing else.
// Adding a check: a row in diagnostics.def, its page in grammar/pages/, a function in checks.hpp.
#pragma once

#include "grammar/lower/workspace.hpp"

namespace meniscus::grammar {

void lint(Workspace& workspace);

}  // namespace meniscus::grammar
