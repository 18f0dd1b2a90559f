// Whether a program that was read from bytes holds together: every index points at something, nodes
// stand after what they rest on, and each operation has the operands that it needs.
//
// So finish_program(), the printer and a walk over the nodes do no harm, whatever the bytes were.
#pragma once

#include "engine/program/program.hpp"

namespace meniscus::adapters {

/// Before finish_program().
bool holds_together(const engine::Program& program);

}  // namespace meniscus::adapters
