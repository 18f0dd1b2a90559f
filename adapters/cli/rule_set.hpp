// The rules that a command works with: the shipped set and what the user adds.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/rules/rule_files.hpp"
#include "engine/base/result.hpp"

namespace meniscus::adapters {

/// The day that the rules are those of: --rules-as-of, else --as-of, else today.  A run has one, so
/// all of its orders are judged by the same versions and local changes.
std::int64_t rules_day(const Arguments& arguments, const Console& console);

/// Where the shipped set stands and which day it is, for load_rules().
LoadOptions load_options(const Arguments& arguments, const Console& console);

/// The paths to load: what the user names first, then the shipped set unless it is left out.
/// Errors: Usage, when the shipped set is wanted and cannot be found.
engine::Result<std::vector<std::string>> rule_paths(const Arguments& arguments,
                                                    const Console& console);

struct RuleSetOptions {
  bool apply_changes = true;  // with the local changes, else as if there were none
  bool with_files = false;    // and the rule files that the command itself is about
};
/// Loads them and says what is wrong on stderr.  Null when something is.
std::shared_ptr<const engine::Program> load_rule_set(const Arguments& arguments,
                                                     const Console& console,
                                                     const RuleSetOptions& wanted = {});

/// The site's changes to the rules, in force and over, a sentence each on stderr.
void say_local_changes(const engine::Program& program, const Console& console);

/// The rule of this name; complains, with what may be meant, when there is none.
std::optional<std::uint32_t> find_rule(const engine::Program& program, const std::string& name,
                                       const Console& console);

}  // namespace meniscus::adapters
