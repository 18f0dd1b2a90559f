// Fuzz target: meniscus.json, the settings of a check.
//
// Property: nothing crashes; every problem has a place inside the text, and only settings that
//           there are are given.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "adapters/config/settings.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  namespace cli = meniscus::adapters;
  // NOLINTNEXTLINE(*-reinterpret-cast): bytes as text
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const cli::ReadConfig read = cli::read_config(text, "meniscus.json", {});
  const auto lines = static_cast<std::uint64_t>(std::count(text.begin(), text.end(), '\n')) + 1;
  for (const auto& problem : read.problems)
    if (problem.line < 1 || problem.line > lines || problem.column < 1) __builtin_trap();
  for (const auto& [name, given] : read.given) {
    if (std::ranges::find(cli::settings(), name, &cli::SettingInfo::name) == cli::settings().end())
      __builtin_trap();
    if (given.from.empty()) __builtin_trap();
  }
  return 0;
}
