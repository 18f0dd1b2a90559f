// The rules that a command works with: the shipped set and what the user adds.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/rules/rule_files.hpp"
#include "engine/base/result.hpp"

namespace meniscus::adapters {

/// The paths to load: what the user names first, then the shipped set unless it is left out.
/// Errors: Usage, when the shipped set is wanted and cannot be found.
engine::Result<std::vector<std::string>> rule_paths(const Arguments& arguments,
                                                    const Console& console);

/// Loads them and says what is wrong on stderr.  Null when something is.
std::shared_ptr<const engine::Program> load_rule_set(const Arguments& arguments,
                                                     const Console& console);

}  // namespace meniscus::adapters
