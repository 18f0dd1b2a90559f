// `meniscus profile lint|learn`.
#pragma once

#include <optional>
#include <string>

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"
#include "engine/order/feed.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

/// Every mistake in the profiles, with its place.
ExitStatus run_profile_lint(const Arguments& arguments, const Console& console);
/// Reads orders and writes a draft profile.
ExitStatus run_profile_learn(const Arguments& arguments, const Console& console);

/// The profile at `path`; without a path, the strict defaults.  Says its mistakes on stderr.
std::optional<engine::Feed> load_feed(const std::string& path, const engine::Program& program,
                                      const Console& console);

}  // namespace meniscus::adapters
