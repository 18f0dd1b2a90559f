// Text patterns of the rule language (`matches`) by RE2: linear in the text, whatever the pattern.
#pragma once

#include "engine/ports/pattern.hpp"

namespace meniscus::adapters {

/// Compiles patterns.  Errors: Syntax, with RE2's own words; a pattern that needs more than a
/// megabyte is refused too.
engine::PatternCompiler re2_patterns();

}  // namespace meniscus::adapters
