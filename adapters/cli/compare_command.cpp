// `meniscus rules compare`: what changed between two rule sets (contract: rules_command.hpp).
#include <memory>
#include <string>
#include <vector>

#include "adapters/cli/counted.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/cli/rules_command.hpp"
#include "adapters/rules/rule_compare.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/base/diagnostic.hpp"

namespace meniscus::adapters {

namespace {
/// Null, after its mistakes were said, where the set has some.
std::shared_ptr<const engine::Program> load(const std::string& path, const LoadOptions& options,
                                            const Console& console) {
  const LoadedRules loaded = load_rules({path}, re2_patterns(), options);
  for (const std::string& sentence : loaded.unreadable)
    console.complain(sentence);
  if (loaded.program != nullptr) return loaded.program;
  for (const engine::Diagnostic& diagnostic : loaded.diagnostics) {
    if (diagnostic.severity == engine::Severity::Error) console.say_err(render(diagnostic) + '\n');
  }
  return nullptr;
}

void append_detail(std::string& out, const std::string& detail) {
  out += "  ";
  for (const char c : detail) {
    out += c;
    if (c == '\n') out += "    ";
  }
  out += '\n';
}

std::string size_of(const engine::Program& program) {
  return counted(program.rules.size(), "rule") + ", " +
         counted(program.settings.size(), "setting") + ", " +
         counted(program.tables.size(), "table") + ", " +
         counted(program.examples.size(), "example");
}
}  // namespace

ExitStatus run_rules_compare(const Arguments& arguments, const Console& console) {
  LoadOptions options = load_options(arguments, console);
  options.shipped.clear();  // each is a set of its own
  const auto before = load(arguments.files[0], options, console);
  const auto after = load(arguments.files[1], options, console);
  if (before == nullptr || after == nullptr) return ExitStatus::Usage;
  const std::vector<Change> changes = compare_rule_sets(*before, *after);
  std::string out;
  for (const Change& change : changes) {
    out += change.subject + '\n';
    for (const std::string& detail : change.details)
      append_detail(out, detail);
  }
  if (!out.empty()) out += '\n';
  out += "was: " + size_of(*before) + "\nnow: " + size_of(*after) + '\n';
  out += changes.empty() ? "no difference\n" : counted(changes.size(), "difference") + '\n';
  console.say(out);
  return changes.empty() ? ExitStatus::Clean : ExitStatus::Found;
}

}  // namespace meniscus::adapters
