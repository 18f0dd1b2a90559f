// Fuzz target: baselines of known findings.
//
// Property: nothing crashes; every problem has a place inside the text, nothing hides a hold, and
//           what is written of a baseline is read again as the same.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "adapters/baseline/baseline.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  namespace cli = meniscus::adapters;
  // NOLINTNEXTLINE(*-reinterpret-cast): bytes as text
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const cli::ReadBaseline read = cli::read_baseline(text);
  const auto lines = static_cast<std::uint64_t>(std::count(text.begin(), text.end(), '\n')) + 1;
  for (const auto& problem : read.problems)
    if (problem.line < 1 || problem.line > lines || problem.column < 1) __builtin_trap();
  for (const auto& [fingerprint, entry] : read.baseline.entries())
    if (read.baseline.hides(entry.key, meniscus::engine::Grade::Hold)) __builtin_trap();
  const cli::ReadBaseline again = cli::read_baseline(read.baseline.text());
  if (!again.problems.empty() || again.holds != 0) __builtin_trap();
  if (again.baseline.text() != read.baseline.text()) __builtin_trap();
  return 0;
}
