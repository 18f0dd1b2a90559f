// Rule text in, Program out: the one public header of the rule language.
//
// Reads:    nothing by itself; files and patterns come through the callbacks.
// Errors:   every mistake that can be found in one run is a Diagnostic; there is a Program only
//           when none of them is an error.
// Threads:  a call is self-contained; several may run at once.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "engine/base/diagnostic.hpp"
#include "engine/base/result.hpp"
#include "engine/ports/pattern.hpp"
#include "engine/program/program.hpp"

namespace meniscus::grammar {

struct RuleSource {
  std::string name;  // shown in messages; tables are named relative to its folder
  std::string text;
  bool shipped = false;  // of the shipped set: changes to it stand in other files
};

/// Text of a table, by the path in `table X from "path"` joined to the rule file's folder.
using FileReader = std::function<engine::Result<std::string>(const std::string& path)>;

struct CompileOptions {
  FileReader read_file;
  engine::PatternCompiler compile_pattern;
  /// The day that the rules are to be those of, since 1970-01-01: the host's word (there is no
  /// clock here).  It decides which versions are in force and which local changes have ended.
  std::int64_t rules_day = 0;
  bool allow_mute_hold = false;       // local changes may take away a `hold`
  bool apply_changes = true;          // false: local changes are checked, and not in force
  bool lint = false;                  // also say what is no mistake and worth a second look
  std::set<std::string> tested;       // rules that have tests elsewhere than in the rule files
  bool examples = true;               // false: the program has none; half the time to compile
  std::size_t max_bytes = 4U << 20U;  // of one rule file
  std::uint32_t max_depth = 200;      // nesting of one expression
  std::uint32_t max_diagnostics = 200;
};

struct Compiled {
  std::shared_ptr<const engine::Program> program;  // null when there are errors
  std::vector<engine::Diagnostic> diagnostics;     // in source order
  /// The days, both included, that give the same program as the rules' day: on none of them does a
  /// version, a local change or a trial begin, end or come within reach.
  std::int64_t first_day = 0;
  std::int64_t last_day = 0;
};

Compiled compile(const std::vector<RuleSource>& sources, const CompileOptions& options);

}  // namespace meniscus::grammar
