// A fingerprint of what a rule asks for, to see that it still asks the same.
//
// Covers:   the conditions and all that they are made of: comparisons, limits, fields, settings and
//           tables by name, queries, patterns.
// Not:      figures of settings and cells of tables (they are values), layout, names and texts.
// Same:     for the same conditions in any rule set, on any machine, and in later versions of the
//           engine: operations count by their names.
#pragma once

#include <cstdint>
#include <vector>

#include "engine/eval/rule_run.hpp"
#include "engine/program/program.hpp"

namespace meniscus::engine {

/// `concerns` and the clause's condition; of a `without`, the conditions of all clauses.
std::vector<NodeId> conditions_of(const Rule& rule, const Hit& hit);

std::uint64_t fingerprint(const Program& program, const Rule& rule, const Hit& hit);

}  // namespace meniscus::engine
