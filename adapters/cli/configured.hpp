// The command line, with what meniscus.json and the environment set for `check`.
//
// Order:    a flag, else a variable, else the file, else the default.  A list that is given is the
//           whole list.
// Answers:  with --to hl7 and --to fhir nothing is taken from outside: what lets an order through
//           stands on the command line.
// Baseline: one that is set outside is passed over where the report takes none.
#pragma once

#include <string>
#include <vector>

#include "adapters/cli/arguments.hpp"
#include "adapters/config/settings.hpp"
#include "engine/base/result.hpp"

namespace meniscus::adapters {

/// As parse_arguments(), for `check` and `config` with the settings from outside; `config` gets all
/// of them to show.  Errors: Usage; a setting's with the place that it comes from, every mistake of
/// the file on a line of its own.
engine::Result<Arguments> parse_configured(const std::vector<std::string>& words,
                                           const Surroundings& around);

}  // namespace meniscus::adapters
