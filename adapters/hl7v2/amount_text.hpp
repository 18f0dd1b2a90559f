// A number and a unit that stand in coded fields, as a person would write them.
//
// Why:     rules judge how an amount is written (`dose as written`). In a coded field a number
//          cannot be grouped and a unit is a code: `2400000` and `IU` are right there, and so they
//          are not shown as if somebody had written them so.
// Groups:  commas from four digits on, as the ISMP list of 2006 asks (looked up secondary).
#pragma once

#include <string>
#include <string_view>

namespace meniscus::adapters::hl7v2 {

/// `units` of `IU`, `lb` of UCUM's `[lb_av]`; the code itself where nobody writes it otherwise.
std::string_view unit_word(std::string_view unit);
/// `2,400,000 units` of `2400000` and `IU`.  Signs, exponents and points stay as they are.
std::string amount_text(std::string_view number, std::string_view unit);

}  // namespace meniscus::adapters::hl7v2
