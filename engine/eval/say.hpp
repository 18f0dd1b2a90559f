// The texts of findings: templates filled with an order's values.
#pragma once

#include <string>

#include "engine/eval/scalar.hpp"

namespace meniscus::engine {

/// Appends `text` with its values.  A plain field is shown as it was written; a computed value in
/// the unit that docs/units.md names; what is missing as "(not stated)", none as "none".
void say(Scalar& scalar, const Template& text, std::string& out);

/// One value for people.
std::string show(const Scalar& scalar, const Node& node, const Value& value);

}  // namespace meniscus::engine
