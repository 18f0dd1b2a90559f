// Rule files and folders on disk, compiled into one program.
//
// Reads:    a folder gives every `*.rule` below it in the order of their paths; tables are read
//           beside the file that names them.  A file that is named twice counts once.
// Errors:   a path that cannot be read is said in `unreadable`; mistakes in rules are diagnostics.
//           There is a program only when there are neither.
// Compiled: where `meniscus rules compile` has left the compiled form of just these files, and they
//           have not changed, that is read instead, with the same outcome; a stale one is passed
//           over.  It is not used for lint.
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/diagnostic.hpp"
#include "engine/base/result.hpp"
#include "engine/ports/pattern.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

/// What became of the compiled form beside the rules (adapters/compiled).
enum class CompiledUse : std::uint8_t { NotThere, Used, Stale, Damaged };
struct CompiledLook {
  CompiledUse use = CompiledUse::NotThere;
  std::string file;    // where it stands, or would
  std::string reason;  // Stale, Damaged: why it was not used
};

struct LoadedRules {
  std::shared_ptr<const engine::Program> program;  // null when something is wrong
  std::vector<engine::Diagnostic> diagnostics;
  std::vector<std::string> unreadable;  // one sentence each
  std::size_t files = 0;
  CompiledLook compiled;
};

struct LoadOptions {
  std::string shipped;           // path of the shipped set among the paths; empty: none is
  std::int64_t rules_day = 0;    // days since 1970-01-01: grammar/compile.hpp says what for
  bool allow_mute_hold = false;  // local changes may take away a `hold`
  bool apply_changes = true;     // put local changes into force
  bool lint = false;             // also say what is worth a second look
  bool examples = true;          // false: for judging only
  bool use_compiled = true;      // false: from the rule files in any case
};

/// `patterns` compiles what stands after `matches`.
LoadedRules load_rules(const std::vector<std::string>& paths,
                       const engine::PatternCompiler& patterns, const LoadOptions& options = {});

/// The same, always from the rule files, and the bytes of its compiled form; these are empty where
/// there is no program, or where a diagnostic would have to be said each time.
struct CompiledBytes {
  LoadedRules loaded;
  std::string bytes;
};
CompiledBytes compile_rules(const std::vector<std::string>& paths,
                            const engine::PatternCompiler& patterns, LoadOptions options);

/// A damaged compiled form, in one sentence that says what to do; empty where it is none.
std::string damage_sentence(const CompiledLook& look);

/// The rule files that `path` stands for, sorted; none for a table of cases.  Errors: Input.
engine::Result<std::vector<std::string>> rule_files_at(const std::string& path);

/// Those of all paths; a path that cannot be read has none.
std::set<std::string> rule_files_of(const std::vector<std::string>& paths);

/// The tables of cases (`*.cases.csv`) that `path` stands for, sorted: of a folder all below it, of
/// a rule file the one beside it that has its name, or `path` itself.  None where there are none.
std::vector<std::string> case_files_at(const std::string& path);
bool is_case_file(std::string_view path);

/// Where the shipped rules may be, best first: $MENISCUS_RULES (when set, nothing else), the
/// installed share/meniscus/rules beside the program's bin, and the same below the build tree.
struct Shipped {
  std::string path;                    // empty when there are none
  std::vector<std::string> looked_in;  // for the message
};
Shipped find_shipped_rules(const std::filesystem::path& program, const char* environment);

/// The whole file.  Errors: Input, in one sentence that names the path.
engine::Result<std::string> read_file(const std::string& path);

}  // namespace meniscus::adapters
