// The closed list of units that may follow a number in a rule.
#pragma once

#include <string>
#include <string_view>

namespace meniscus::grammar {

/// "mg", "mg/kg", "mPa.s", "%": known as a whole or part by part.
bool is_unit(std::string_view text);
/// The known unit that is nearest in spelling, or empty.
std::string near_unit(std::string_view text);

}  // namespace meniscus::grammar
