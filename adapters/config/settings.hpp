// Settings of `meniscus check` from outside the command line: the file meniscus.json, and
// variables of the environment.
//
// Found:    in the folder that is asked about, or the nearest above it; not above a folder that has
//           a `.git`.
// Contract: docs/schemas/check-config.schema.json.  A key that nobody knows, a value of the wrong
//           kind, a key twice: said with line and column, all of them at once.
// Left out: what decides what is kept or let through is asked for on the command line alone
//           (on-hold, history, history-since, allow-mute-hold, write-baseline).
// Paths:    in the file, from the file's folder; in a variable, from the working folder.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/support/input_problem.hpp"
#include "engine/base/result.hpp"

namespace meniscus::adapters {

inline constexpr std::string_view kConfigName = "meniscus.json";

enum class SettingKind : std::uint8_t { Text, Path, Paths, YesNo };

struct SettingInfo {
  std::string_view name;      // the option's, without dashes
  std::string_view variable;  // of the environment; empty: none
  SettingKind kind = SettingKind::Text;
  std::string_view by_default;
};
/// In the order in which they are shown.
std::span<const SettingInfo> settings();

/// What was given for one setting.
struct Given {
  std::vector<std::string> values;  // one but for Paths; `yes` or `no` for YesNo
  std::string from;                 // `meniscus.json:3:14`, or the variable
};
using GivenSettings = std::map<std::string, Given, std::less<>>;

struct ReadConfig {
  GivenSettings given;
  std::vector<InputProblem> problems;
};
/// `name` is how places name the file, `folder` what its paths start from (empty: as they are).
ReadConfig read_config(std::string_view text, const std::string& name,
                       const std::filesystem::path& folder);

/// The file that holds for `folder`; none where there is none.
std::optional<std::filesystem::path> find_config(const std::filesystem::path& folder);

/// What a program is started in.
struct Surroundings {
  std::filesystem::path folder;                                  // empty: no file is looked for
  std::function<std::string(const std::string& name)> variable;  // empty text: not set
};
/// Environment over file.  Errors: Usage, every mistake on a line of its own.
engine::Result<GivenSettings> outer_settings(const Surroundings& around);

}  // namespace meniscus::adapters
