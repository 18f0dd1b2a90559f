// Fuzz target: feed profiles.
//
// Property: nothing crashes; there is a feed exactly when there is no problem, and every problem
//           has a place inside the text.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "adapters/profile/profile.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  // NOLINTNEXTLINE(*-reinterpret-cast): bytes as text
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const meniscus::adapters::ReadProfile read = meniscus::adapters::read_profile(text);
  if (read.feed.has_value() != read.problems.empty()) __builtin_trap();
  const auto lines = static_cast<std::uint64_t>(std::count(text.begin(), text.end(), '\n')) + 1;
  for (const auto& problem : read.problems)
    if (problem.line < 1 || problem.line > lines || problem.column < 1) __builtin_trap();
  return 0;
}
