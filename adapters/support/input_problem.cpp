// Places and wording of problems (contract: input_problem.hpp).
#include "adapters/support/input_problem.hpp"

#include <algorithm>
#include <utility>

#include "adapters/support/near_name.hpp"
#include "engine/base/utf8.hpp"

namespace meniscus::adapters {

InputProblem problem_at(std::string_view text, std::size_t offset, std::string message,
                        std::string at) {
  const std::string_view before = text.substr(0, offset);
  const std::size_t newline = before.rfind('\n');
  const std::size_t start = newline == std::string_view::npos ? 0 : newline + 1;
  const auto lines = static_cast<std::uint64_t>(std::count(before.begin(), before.end(), '\n'));
  return {std::move(message), std::move(at), lines + 1,
          engine::count_characters(before.substr(start)) + 1};
}

std::string describe(const InputProblem& problem, const std::string& file) {
  std::string text = file;
  if (problem.line != 0)
    text += ":" + std::to_string(problem.line) + ":" + std::to_string(problem.column);
  text += ": error: " + problem.message;
  if (!problem.at.empty()) text += " (" + problem.at + ")";
  return text;
}

std::string pointer_step(std::string_view key) {
  std::string step;
  for (const char c : key)
    step += c == '~' ? std::string("~0") : c == '/' ? std::string("~1") : std::string(1, c);
  return step;
}

std::string unknown_key(std::string_view key, std::span<const std::string_view> known) {
  NearName near(key);
  for (const std::string_view one : known)
    near.offer(one);
  std::string message = "unknown key `" + std::string(key) + "`";
  if (!near.best().empty()) message += "; is `" + std::string(near.best()) + "` meant?";
  return message;
}

}  // namespace meniscus::adapters
