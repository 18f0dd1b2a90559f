// Whether a verdict counts against its order.
#pragma once

#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

/// Whether a verdict counts as found: its outcome, or the gravest finding of an order that is only
/// recorded or outside.
bool is_found(const engine::Verdict& verdict, engine::Outcome fail_at);

}  // namespace meniscus::adapters
