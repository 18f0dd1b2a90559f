// `meniscus replay`, `meniscus replay merge` and `meniscus replay labels`.
#pragma once

#include <optional>

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"
#include "adapters/cli/log.hpp"
#include "adapters/replay/summary.hpp"

namespace meniscus::adapters {

/// What the orders of a run, or of its shard, gave.
struct Replayed {
  std::optional<replay::Summary> summary;
  ExitStatus failed = ExitStatus::Clean;  // without a summary: how, after why was said
};
[[nodiscard]] Replayed replay_orders(const Arguments& arguments, const Console& console,
                                     const Log& log);
/// Writes what was asked for.  Gives what a script learns: whether all could be read and written,
/// and whether the sides differ.
ExitStatus write_replay(const replay::Summary& summary, const Arguments& arguments,
                        const Console& console);

/// Judges past orders with one set of rules or two, and sums up what they found.
ExitStatus run_replay(const Arguments& arguments, const Console& console, const Log& log);
/// Puts the parts of one run together.
ExitStatus run_replay_merge(const Arguments& arguments, const Console& console);
/// What readers say of the orders that a run has drawn.
ExitStatus run_replay_labels(const Arguments& arguments, const Console& console);

}  // namespace meniscus::adapters
