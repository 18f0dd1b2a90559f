// Feed profiles: what is particular to one feed, as JSON (docs/profiles.md;
// docs/schemas/feed-profile.schema.json).
//
// Strict:  an unknown key, a value of the wrong kind, a field or unit that does not exist is an
//          error with its place and what was meant.  A profile with an error is not used: a feed
//          read by half a profile would be guessed at.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/support/input_problem.hpp"
#include "engine/order/feed.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

struct ReadProfile {
  std::optional<engine::Feed> feed;  // nothing when there is a problem
  std::vector<InputProblem> problems;
};

/// Reads a profile.  With a program, translations are checked against its vocabularies.
ReadProfile read_profile(std::string_view text, const engine::Program* program = nullptr);

/// Reads the file.  A file that cannot be read is a problem too.
ReadProfile read_profile_file(const std::string& path, const engine::Program* program = nullptr);

}  // namespace meniscus::adapters
