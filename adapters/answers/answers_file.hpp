// Answers to questions kept in a file: one JSON object a line (docs/answers.md;
// docs/schemas/answer.schema.json).
//
// Strict:   a line with an error answers nothing, and is a problem with its place; the others hold.
// Appended: whole lines, one after another even where several programs write at once; nothing that
//           stands in the file is changed.  A new file is for its owner alone (mode 0600).
// Privacy:  the file says what orders say of patients; it is to be kept as orders are.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "adapters/support/input_problem.hpp"
#include "engine/answers/answer.hpp"
#include "engine/base/result.hpp"

namespace meniscus::adapters {

struct ReadAnswers {
  engine::Answers answers;
  std::vector<InputProblem> problems;  // lines and columns of the file
};

/// Empty lines are passed over.
ReadAnswers read_answers(std::string_view text);

/// Errors: Input, one sentence that names the path.
engine::Result<ReadAnswers> read_answers_file(const std::string& path);

/// The answer as one line, with its end; read_answers() gives it back.
std::string answer_line(const engine::Answer& answer);

/// Adds whole lines to the file, which is made where there is none.  Errors: Input; the file is
/// then as it was.
engine::Status append_answers(const std::string& path, std::string_view lines);

}  // namespace meniscus::adapters
