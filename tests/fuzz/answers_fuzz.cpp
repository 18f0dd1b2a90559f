// Fuzz target: files of answers.
//
// Property: nothing crashes; every line that holds something is an answer or a problem with a place
//           inside the text; and what was read is read again from what is written of it.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "adapters/answers/answers_file.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  // NOLINTNEXTLINE(*-reinterpret-cast): bytes as text
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const meniscus::adapters::ReadAnswers read = meniscus::adapters::read_answers(text);
  const auto lines = static_cast<std::uint64_t>(std::count(text.begin(), text.end(), '\n')) + 1;
  for (const auto& problem : read.problems)
    if (problem.line < 1 || problem.line > lines || problem.column < 1) __builtin_trap();
  std::uint32_t line = 0;
  for (meniscus::engine::Answer answer : read.answers.all()) {
    if (answer.line <= line || answer.line > lines) __builtin_trap();
    line = answer.line;
    const auto again = meniscus::adapters::read_answers(meniscus::adapters::answer_line(answer));
    answer.line = 1;
    if (!again.problems.empty() || again.answers.all().size() != 1) __builtin_trap();
    if (again.answers.all().front() != answer) __builtin_trap();
  }
  return 0;
}
