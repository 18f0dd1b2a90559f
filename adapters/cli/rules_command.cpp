// Contract: see rules_command.hpp.
#include "adapters/cli/rules_command.hpp"

#include <algorithm>
#include <string>
#include <string_view>

#include "adapters/cli/counted.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/report/local_changes.hpp"
#include "adapters/report/marks.hpp"
#include "adapters/report/wrap.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/base/diagnostic.hpp"

namespace meniscus::adapters {

namespace {
std::size_t count_of(const LoadedRules& loaded, engine::Severity severity) {
  return static_cast<std::size_t>(
      std::count_if(loaded.diagnostics.begin(), loaded.diagnostics.end(),
                    [&](const engine::Diagnostic& d) { return d.severity == severity; }));
}

/// The gravest grade that a rule can give.
engine::Grade gravest(const engine::Rule& rule) {
  engine::Grade grade = engine::Grade::Note;
  for (const engine::Clause& clause : rule.clauses)
    grade = std::max(grade, clause.grade);
  for (const engine::Without& without : rule.withouts) {
    if (!without.ignore) grade = std::max(grade, without.grade);
  }
  return grade;
}
}  // namespace

namespace {

void append_trials(std::string& out, const engine::Program& program) {
  bool first = true;
  for (const engine::LocalChange& change : program.changes) {
    if (change.kind != engine::ChangeKind::Trial || change.over) continue;
    if (first) out += "On trial, shown to nobody who acts on orders:\n";
    first = false;
    out += "  ";
    append_wrapped(out, change_sentence(change), 2, 4);
  }
}

}  // namespace

ExitStatus run_rules_lint(const Arguments& arguments, const Console& console) {
  const auto paths = rule_paths(arguments, console);
  if (!paths) {
    console.complain(paths.error().message);
    return ExitStatus::Usage;
  }
  LoadOptions options = load_options(arguments, console);
  options.lint = true;
  const LoadedRules loaded = load_rules(*paths, re2_patterns(), options);
  for (const std::string& sentence : loaded.unreadable)
    console.complain(sentence);
  std::string out;
  for (const engine::Diagnostic& diagnostic : loaded.diagnostics) {
    out += render(diagnostic);
    out += '\n';
  }
  const std::size_t errors = count_of(loaded, engine::Severity::Error) + loaded.unreadable.size();
  const std::size_t warnings = count_of(loaded, engine::Severity::Warning);
  out += counted(loaded.files, "file") + ": " + counted(errors, "error") + ", " +
         counted(warnings, "warning") + '\n';
  console.say(out);
  if (loaded.program == nullptr) return ExitStatus::Usage;
  return arguments.strict && warnings > 0 ? ExitStatus::Found : ExitStatus::Clean;
}

ExitStatus run_rules_list(const Arguments& arguments, const Console& console) {
  const auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  std::size_t width = 0;
  for (const engine::Rule& rule : program->rules)
    width = std::max(width, rule.name.size());
  std::string out;
  for (const engine::Rule& rule : program->rules) {
    const engine::Grade grade = gravest(rule);
    const std::string_view word = engine::name(grade);
    out += mark(engine::outcome_of(grade));
    out += ' ';
    out += word;
    out.append(9 - word.size(), ' ');
    out += rule.name;
    out.append(width + 2 - rule.name.size(), ' ');
    out += rule.title;
    if (rule.trial) out += " (on trial)";
    out += '\n';
  }
  out += counted(program->rules.size(), "rule") + ", " + program->hash + '\n';
  append_changes(out, program->changes);
  append_trials(out, *program);
  console.say(out);
  return ExitStatus::Clean;
}

}  // namespace meniscus::adapters
