// One rank of a replay: it judges its share of the patients, and the first rank puts all together.
//
// Same:    the first rank writes what `meniscus replay` writes, byte for byte; the others write
//          nothing.
// Errors:  every rank comes to the end and hands over what it has, also when that is nothing; so
//          none waits for another for ever.  A rank's failure is that of the run, which ends with
//          the worst status.  What several ranks complain about is said once.
#pragma once

#include <string>
#include <vector>

#include "adapters/cli/console.hpp"
#include "adapters/cli/exit_status.hpp"
#include "adapters/ranks/world.hpp"

namespace meniscus::adapters {

/// `words`: as behind `meniscus replay`.  The status of the run at the first rank; Clean elsewhere,
/// since a launcher may end all as soon as one rank ends with another status.
ExitStatus run_rank(const std::vector<std::string>& words, const Console& console,
                    const World& world);

}  // namespace meniscus::adapters
