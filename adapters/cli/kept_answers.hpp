// The answers that a command works with: the file named by --answers.
#pragma once

#include <optional>
#include <string>

#include "adapters/answers/answers_file.hpp"
#include "adapters/cli/console.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

struct KeptAnswers {
  engine::Answers answers;
  bool sound = true;  // every line could be read
};

/// Without a path, none.  Says on stderr which lines cannot be read (they answer nothing) and which
/// are about no rule in force.  Nothing, and said, when the file cannot be read.
std::optional<KeptAnswers> load_answers(const std::string& path, const engine::Program& program,
                                        const Console& console);

/// The rule of that name that is in force, or null.
const engine::Rule* rule_in_force(const engine::Program& program, std::string_view name);

}  // namespace meniscus::adapters
