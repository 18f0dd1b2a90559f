// Contract: see rules_command.hpp.
#include "adapters/cli/rules_command.hpp"

#include <algorithm>
#include <set>
#include <string>
#include <string_view>

#include "adapters/cli/rule_set.hpp"
#include "adapters/report/marks.hpp"
#include "adapters/report/wrap.hpp"
#include "adapters/rules/examples.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/base/diagnostic.hpp"

namespace meniscus::adapters {

namespace {
std::string counted(std::size_t count, std::string_view thing) {
  std::string text = std::to_string(count) + " " + std::string(thing);
  if (count != 1) text += 's';
  return text;
}

std::size_t count_of(const LoadedRules& loaded, engine::Severity severity) {
  return static_cast<std::size_t>(
      std::count_if(loaded.diagnostics.begin(), loaded.diagnostics.end(),
                    [&](const engine::Diagnostic& d) { return d.severity == severity; }));
}

/// The files that the user named, as the program names them; empty: all.
std::set<std::string> wanted_files(const Arguments& arguments) {
  std::set<std::string> wanted;
  for (const std::string& path : arguments.files) {
    const auto files = rule_files_at(path);
    if (files) wanted.insert(files->begin(), files->end());
  }
  return wanted;
}

void report_failure(std::string& out, const ExampleResult& result) {
  const engine::Example& example = *result.example;
  append_plain(out, example.file);
  out += ':';
  append_number(out, example.line);
  out += ": example \"";
  append_plain(out, example.title);
  out += "\" fails\n";
  for (const ExampleFailure& failure : result.failures) {
    out += "  expected  ";
    append_wrapped(out, failure.expected, 12, 12);
    out += "  got       ";
    append_wrapped(out, failure.got, 12, 12);
  }
}

/// Which clauses no example reaches, one rule a line.
void report_uncovered(std::string& out, const ExamplesReport& report) {
  if (report.uncovered.empty()) return;
  out += "Clauses that no example reaches:\n";
  std::string_view rule;
  for (const Uncovered& clause : report.uncovered) {
    if (clause.rule != rule) {
      if (!rule.empty()) out += '\n';
      out += "  ";
      out += clause.rule;
      rule = clause.rule;
    }
    out += " line ";
    append_number(out, clause.line);
  }
  out += '\n';
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

ExitStatus run_rules_lint(const Arguments& arguments, const Console& console) {
  const auto paths = rule_paths(arguments, console);
  if (!paths) {
    console.complain(paths.error().message);
    return ExitStatus::Usage;
  }
  const LoadedRules loaded = load_rules(*paths, re2_patterns());
  for (const std::string& sentence : loaded.unreadable)
    console.complain(sentence);
  std::string out;
  for (const engine::Diagnostic& diagnostic : loaded.diagnostics) {
    out += render(diagnostic);
    out += '\n';
  }
  const std::size_t errors = count_of(loaded, engine::Severity::Error) + loaded.unreadable.size();
  out += counted(loaded.files, "file") + ": " + counted(errors, "error") + ", " +
         counted(count_of(loaded, engine::Severity::Warning), "warning") + '\n';
  console.say(out);
  return loaded.program == nullptr ? ExitStatus::Usage : ExitStatus::Clean;
}

ExitStatus run_rules_test(const Arguments& arguments, const Console& console) {
  const auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  const ExamplesReport report = run_examples(program, wanted_files(arguments));
  std::string out;
  for (const ExampleResult& result : report.results) {
    if (!result.failures.empty()) report_failure(out, result);
  }
  report_uncovered(out, report);
  out += counted(report.results.size(), "example") + ": " +
         std::to_string(report.results.size() - report.failed()) + " passed, " +
         std::to_string(report.failed()) + " failed";
  if (report.clauses > 0) {
    out += "; " + std::to_string(report.clauses - report.uncovered.size()) + " of " +
           counted(report.clauses, "clause") + " reached";
  }
  out += '\n';
  console.say(out);
  if (report.results.empty()) {
    console.complain("there is no example in these files");
    return ExitStatus::Usage;
  }
  return report.failed() == 0 ? ExitStatus::Clean : ExitStatus::Found;
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
    out += '\n';
  }
  out += counted(program->rules.size(), "rule") + ", " + program->hash + '\n';
  console.say(out);
  return ExitStatus::Clean;
}

}  // namespace meniscus::adapters
