// Declarations and rules: from the syntax trees of all files to the program's settings, defines,
// rules and examples.
#pragma once

#include "grammar/lower/workspace.hpp"

namespace meniscus::grammar {

void lower_settings(Workspace& workspace);
void lower_defines(Workspace& workspace);
void lower_rules(Workspace& workspace);
void lower_examples(Workspace& workspace);

}  // namespace meniscus::grammar
