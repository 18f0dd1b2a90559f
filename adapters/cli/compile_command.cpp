// `meniscus rules compile`: the compiled form of the rules, written beside them (contract:
// rules_command.hpp).
//
// Output:   standard output says what was written, found or removed; what is wrong goes to standard
//           error, and then nothing is written.
#include <filesystem>
#include <string>
#include <system_error>

#include "adapters/cli/counted.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/cli/rules_command.hpp"
#include "adapters/compiled/compiled_store.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/base/diagnostic.hpp"

namespace meniscus::adapters {
namespace {

using Paths = std::vector<std::string>;

ExitStatus write_compiled_form(const Paths& paths, const LoadOptions& options,
                               const Console& console) {
  const CompiledBytes made = compile_rules(paths, re2_patterns(), options);
  for (const std::string& sentence : made.loaded.unreadable)
    console.complain(sentence);
  for (const engine::Diagnostic& diagnostic : made.loaded.diagnostics)
    console.say_err(render(diagnostic) + "\n");
  if (made.loaded.program == nullptr) {
    console.complain("the rules have mistakes; nothing was written");
    return ExitStatus::Usage;
  }
  if (made.bytes.empty()) {
    console.complain(
        "nothing was written: compiled rules have no warnings, so that none is passed over; mend "
        "what is said above first");
    return ExitStatus::Usage;
  }
  const std::string& file = made.loaded.compiled.file;
  if (const auto stored = store_compiled(file, made.bytes); !stored) {
    console.complain(stored.error().message + "; the rules work without it");
    return ExitStatus::Usage;
  }
  console.say(file + ": " + counted(made.loaded.program->rules.size(), "rule") + " of " +
              counted(made.loaded.files, "file") + ", " + made.loaded.program->hash + '\n');
  return ExitStatus::Clean;
}

ExitStatus say_state(const Paths& paths, const LoadOptions& options, const Console& console) {
  const CompiledLook look = load_rules(paths, re2_patterns(), options).compiled;
  switch (look.use) {
    case CompiledUse::NotThere:
      console.say(look.file + ": not there\n");
      break;
    case CompiledUse::Used:
      console.say(look.file + ": up to date\n");
      return ExitStatus::Clean;
    case CompiledUse::Stale:
      console.say(look.file + ": out of date: " + look.reason + '\n');
      break;
    case CompiledUse::Damaged:
      console.say(look.file + ": damaged: " + look.reason + '\n');
      break;
  }
  return ExitStatus::Found;
}

ExitStatus remove_compiled_form(const Paths& paths, const Console& console) {
  const std::string file = compiled_path(paths);
  std::error_code problem;
  const bool was_there = std::filesystem::remove(file, problem);
  if (problem) {
    console.complain("cannot remove " + file + ": " + problem.message());
    return ExitStatus::Usage;
  }
  console.say(file + (was_there ? ": removed\n" : ": not there\n"));
  return ExitStatus::Clean;
}

}  // namespace

ExitStatus run_rules_compile(const Arguments& arguments, const Console& console) {
  const auto paths = rule_paths(arguments, console);
  if (!paths) {
    console.complain(paths.error().message);
    return ExitStatus::Usage;
  }
  if (arguments.remove) return remove_compiled_form(*paths, console);
  const LoadOptions options = load_options(arguments, console);
  return arguments.only_check ? say_state(*paths, options, console)
                              : write_compiled_form(*paths, options, console);
}

}  // namespace meniscus::adapters
