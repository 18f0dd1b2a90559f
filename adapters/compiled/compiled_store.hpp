// The file of compiled rules on disk: where it stands, whether it is still what the rule files say,
// and writing it whole.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "adapters/compiled/compiled_rules.hpp"
#include "engine/base/result.hpp"

namespace meniscus::adapters {

/// In the folder of rules, or beside the rule file.
inline constexpr std::string_view kCompiledName = ".compiled-rules";

/// Where the compiled form of the rules at these paths stands: in the first path's folder.
std::string compiled_path(const std::vector<std::string>& paths);

/// What a program is wanted of.
struct WantedRules {
  struct File {
    std::string name;
    bool shipped = false;
  };
  std::vector<File> rules;  // in the order of loading
  std::int64_t rules_day = 0;
  bool allow_mute_hold = false;
};

/// Why a compilation would give something else now, in one sentence: another set of files, a byte
/// that is different, another day.  Empty: it would give the same.
std::string why_stale(const CompiledOrigin& origin, const WantedRules& wanted);

/// Nothing where there is no file.  Errors: Input.
engine::Result<std::optional<std::string>> read_compiled(const std::string& path);

/// First beside itself and then in its place, so that a reader finds it whole at any time.  Mode
/// 0644.  Errors: Input; the file is then as it was.
engine::Status store_compiled(const std::string& path, std::string_view bytes);

}  // namespace meniscus::adapters
