// The summary of a replay in the forms of other checks, for the tools that read those.
//
// SARIF:    2.1.0 (OASIS): a run whose rules are the rules.  A result of level `warning` for each
//           signal, and one of level `note` for each rule of which before and after say different
//           things, with examples as its places.
// JUnit:    a test suite `replay`, a test case for each rule: it passes when it has no signal and
//           both sides say the same of every order.  Its form: report/junit_writer.hpp.
// Of two:   signals are those of the set that comes after.
// Private:  no patient is named, nor an order; an example is a file and a line.
#pragma once

#include <string>

#include "adapters/replay/summary.hpp"

namespace meniscus::adapters::replay {

std::string summary_sarif(const Summary& summary);
std::string summary_junit(const Summary& summary);

}  // namespace meniscus::adapters::replay
