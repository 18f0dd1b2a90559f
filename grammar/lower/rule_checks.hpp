// What a lowered rule must still keep: clauses that can be reached, absences that are answered.
#pragma once

#include "grammar/lower/workspace.hpp"

namespace meniscus::grammar {

/// Fills `reads` and `history`, and reports unreachable clauses, a `without` of something that the
/// rule does not read, and `is given` or `is missing` in `concerns` without an answer.
void check_rule(Workspace& workspace, SourceId source, const Rule& ast, engine::Rule& rule);

}  // namespace meniscus::grammar
