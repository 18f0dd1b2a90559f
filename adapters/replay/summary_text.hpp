// The summary of a replay for a terminal: the whole in a screen or two; the report has the rest.
#pragma once

#include <string>

#include "adapters/replay/summary.hpp"

namespace meniscus::adapters::replay {

std::string summary_text(const Summary& summary);

}  // namespace meniscus::adapters::replay
