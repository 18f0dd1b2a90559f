// What changed between two rule sets, in words and independent of layout.
//
// Takes:    two programs of one rules' day. What is in force is compared part by part; of a rule
//           that is not in force, only whether its words are the same.
// Gives:    one Change a thing that differs: settings, then definitions, tables, rules, examples
//           and local changes, each in the order of the newer set, what was removed last.
// Silent:   about layout, comments, files, the order of rules, and signs written as words.
#pragma once

#include <string>
#include <vector>

#include "engine/program/program.hpp"

namespace meniscus::adapters {

struct Change {
  std::string subject;               // "setting sc-volume-limit"
  std::vector<std::string> details;  // "1 mL is now 1.5 mL"; a line break parts the old and the new
};

std::vector<Change> compare_rule_sets(const engine::Program& before, const engine::Program& after);

}  // namespace meniscus::adapters
