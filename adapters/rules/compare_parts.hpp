// The comparison of one rule with another of its name, part by part (for rule_compare.cpp).
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/program/program.hpp"

namespace meniscus::adapters {

/// Adds "WHAT was X, now Y" where they differ, with the old and the new on lines of their own where
/// they are long; an empty text is shown as "none".
void note_change(std::vector<std::string>& lines, std::string_view what, const std::string& before,
                 const std::string& after);

std::vector<std::string> rule_changes(const engine::Rule& before, const engine::Rule& after);

}  // namespace meniscus::adapters
