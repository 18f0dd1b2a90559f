// Taking known findings out of a verdict.
#pragma once

#include <functional>

#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

/// Takes out the findings that are `known` and grades the order anew: by the findings that are
/// left, and by what was not assessed, as the engine does.  What could not be checked is never
/// taken out. Slips stay.  Gives back how many findings went.
std::size_t hide_known(engine::Verdict& verdict,
                       const std::function<bool(const engine::Finding&)>& known);

}  // namespace meniscus::adapters
