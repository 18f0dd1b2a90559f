// The page about a rule set for the people who sign it: every rule in words, with its grades,
// numbers, settings, source, owner, review date and examples; then settings, terms and tables.
//
// Markdown; the same text for the same rules, so that a repository can check that its page is
// current.
#pragma once

#include <string>
#include <vector>

#include "engine/program/program.hpp"

namespace meniscus::adapters {

/// A rule file as it stands on disk.
struct RuleFile {
  std::string name;  // as the page shows it: "dose/dose-range.rule"
  std::string path;  // as the program names it
  std::string text;
};

std::string rule_page(const engine::Program& program, const std::vector<RuleFile>& files);

}  // namespace meniscus::adapters
