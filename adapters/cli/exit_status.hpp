// What the program's exit status says; the highest that applies.
#pragma once

#include <algorithm>

namespace meniscus::adapters {

enum class ExitStatus : int {
  Clean = 0,     // nothing at or above the fail grade
  Found = 1,     // something is
  Unread = 2,    // some input could not be read
  Usage = 3,     // bad usage, configuration or rules
  Internal = 4,  // an error of ours, or the output could not be written
};

inline ExitStatus worst(ExitStatus a, ExitStatus b) { return std::max(a, b); }

}  // namespace meniscus::adapters
