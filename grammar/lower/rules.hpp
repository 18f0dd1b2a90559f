// Declarations and rules: from the syntax trees of all files to the program's settings, defines,
// rules and examples.
#pragma once

#include "grammar/lower/workspace.hpp"

namespace meniscus::grammar {

void lower_settings(Workspace& workspace);
void lower_defines(Workspace& workspace);
/// The rules in force.
void lower_rules(Workspace& workspace);
/// The others: checked where their time is not over.  Lower nothing after it.
void set_rules_aside(Workspace& workspace);
/// Examples that expect something of a rule set aside are left out.
void lower_examples(Workspace& workspace);

}  // namespace meniscus::grammar
