// Dates of force: which rules, settings and tables are in force on the rules' day.
//
// Days:   a declaration with `from` and `until` is in force from the one to the other, both
//         included; without one of them that end is open.
// Rule:   declarations of one name with dates that do not overlap are versions of one thing.  A run
//         has one rules' day, so a program holds one version of each; standing_on() alone decides.
#pragma once

#include <cstdint>

#include "grammar/lower/workspace.hpp"

namespace meniscus::grammar {

enum class Standing : std::uint8_t { InForce, Later, Over };

/// How dates stand to a day.  A date that cannot be read counts as open; it was reported.
Standing standing_on(std::int64_t day, const Name& from, const Name& until);

/// The same for a declaration on the rules' day.  One whose dates were reported is Over.
template <class Declaration>
Standing standing(const Workspace& workspace, const Declaration& declaration) {
  if (workspace.clashes.count(&declaration) > 0) return Standing::Over;
  return standing_on(workspace.options.rules_day, declaration.from, declaration.until);
}

/// The day that a date names; nothing, silently, where it cannot be read.
std::optional<std::int64_t> day_of(const Name& date);

/// Reports dates that are none or the wrong way round, versions that overlap, and days between two
/// versions on which none is in force.  Call before anything asks for standings.
void check_versions(Workspace& workspace);

/// Days, both included.
struct DaySpan {
  std::int64_t first = 0;
  std::int64_t last = 0;
};

/// The days around the rules' day on which no standing of anything in the files changes, nor
/// whether the end of a local change is too far away to be allowed.
DaySpan unchanged_days(const Workspace& workspace);

}  // namespace meniscus::grammar
