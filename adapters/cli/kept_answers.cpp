// Contract: see kept_answers.hpp.
#include "adapters/cli/kept_answers.hpp"

#include <algorithm>
#include <utility>

#include "adapters/report/output.hpp"

namespace meniscus::adapters {

const engine::Rule* rule_in_force(const engine::Program& program, std::string_view name) {
  const auto at = std::find_if(program.rules.begin(), program.rules.end(),
                               [&](const engine::Rule& rule) { return rule.name == name; });
  return at == program.rules.end() ? nullptr : &*at;
}

std::optional<KeptAnswers> load_answers(const std::string& path, const engine::Program& program,
                                        const Console& console) {
  KeptAnswers kept;
  if (path.empty()) return kept;
  auto read = read_answers_file(path);
  if (!read) {
    console.complain(read.error().message +
                     "; the first `meniscus answer` makes the file, and an empty one will do");
    return std::nullopt;
  }
  std::string said;
  for (const InputProblem& problem : read->problems) {
    append_plain(said, describe(problem, path));
    said += '\n';
  }
  for (const engine::Answer& answer : read->answers.all()) {
    if (rule_in_force(program, answer.rule) != nullptr) continue;
    append_plain(said, path + ":" + std::to_string(answer.line) + ": there is no rule `" +
                           answer.rule + "` in force; this answer answers nothing");
    said += '\n';
  }
  if (!said.empty()) console.say_err(said);
  kept.sound = read->problems.empty();
  if (!kept.sound) console.complain("lines of " + path + " that have mistakes answer nothing");
  kept.answers = std::move(read->answers);
  return kept;
}

}  // namespace meniscus::adapters
