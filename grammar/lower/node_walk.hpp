// What the conditions of a rule imply.
#pragma once

#include "engine/program/node_walk.hpp"

namespace meniscus::grammar {

using engine::NodeWalk;

/// True when `later` cannot hold unless `earlier` does: equal conditions, a part of `earlier`'s
/// `or`, one more conjunct, or the same comparison with a stricter constant.  False otherwise.
bool implies(const engine::Program& program, engine::NodeId later, engine::NodeId earlier);

}  // namespace meniscus::grammar
