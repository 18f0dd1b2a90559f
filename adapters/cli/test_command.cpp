// `meniscus rules test`: the examples and cases, what failed and why (contract: rules_command.hpp).
#include <string>
#include <string_view>

#include "adapters/cli/counted.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/cli/rules_command.hpp"
#include "adapters/report/output.hpp"
#include "adapters/report/wrap.hpp"
#include "adapters/rules/examples.hpp"
#include "adapters/rules/test_set.hpp"
#include "engine/base/diagnostic.hpp"

namespace meniscus::adapters {

namespace {
constexpr std::size_t kIndent = 14;
constexpr std::size_t kMostConditions = 4;

void append_entry(std::string& out, std::string_view label, std::string_view text) {
  out += "  ";
  out += label;
  out.append(kIndent - 2 - label.size(), ' ');
  append_wrapped(out, text, kIndent, kIndent);
}

void append_condition(std::string& out, const WhyCondition& condition, std::string_view label) {
  append_entry(out, label, condition.text);
  out.append(kIndent, ' ');
  out += condition.place;
  out += '\n';
  std::string sides(truth_words(condition.truth));
  if (!condition.sides.empty()) sides += ": " + listed(condition.sides);
  append_entry(out, "", sides);
}

void report_failure(std::string& out, const ExampleResult& result) {
  const engine::Example& example = *result.example;
  append_plain(out, example.file);
  out += ':';
  append_number(out, example.line);
  out += example.in_table ? ": case \"" : ": example \"";
  append_plain(out, example.title);
  out += "\" fails\n";
  for (const ExampleFailure& failure : result.failures) {
    append_entry(out, "expected", failure.expected);
    append_entry(out, "got", failure.got);
    std::size_t shown = 0;
    for (const WhyCondition& condition : failure.decided) {
      if (shown++ == kMostConditions) break;
      append_condition(out, condition, shown == 1 ? "decided by" : "and");
    }
    if (!failure.values.empty()) append_entry(out, "values", listed(failure.values));
  }
}

/// Which clauses nothing reaches, one rule a line.
void report_uncovered(std::string& out, const ExamplesReport& report) {
  if (report.uncovered.empty()) return;
  out += "Clauses that no example or case reaches:\n";
  std::string_view rule;
  for (const Uncovered& clause : report.uncovered) {
    if (clause.rule != rule) {
      if (!rule.empty()) out += '\n';
      out += "  ";
      out += clause.rule;
      rule = clause.rule;
    }
    out += clause.clause > 0 ? " line " : " `without` at line ";
    append_number(out, clause.line);
  }
  out += '\n';
}

/// "12 examples and 3 cases".
std::string tests_counted(const TestSet& set) {
  const std::size_t examples = set.tests.size() - set.cases.size();
  std::string text;
  if (examples > 0 || set.cases.empty()) text = counted(examples, "example");
  if (set.cases.empty()) return text;
  if (!text.empty()) text += " and ";
  return text + counted(set.cases.size(), "case");
}
}  // namespace

ExitStatus run_rules_test(const Arguments& arguments, const Console& console) {
  const auto program = load_rule_set(arguments, console);
  const auto paths = rule_paths(arguments, console);
  if (program == nullptr || !paths) return ExitStatus::Usage;
  const TestSet set = find_tests(*program, arguments.files, *paths);
  for (const std::string& sentence : set.unreadable)
    console.complain(sentence);
  for (const engine::Diagnostic& diagnostic : set.diagnostics)
    console.say_err(render(diagnostic) + "\n");
  ExitStatus status =
      set.unreadable.empty() && set.diagnostics.empty() ? ExitStatus::Clean : ExitStatus::Usage;
  const ExamplesReport report = run_examples(program, set.tests, set.rules);
  std::string out;
  for (const ExampleResult& result : report.results) {
    if (!result.failures.empty()) report_failure(out, result);
  }
  report_uncovered(out, report);
  out += tests_counted(set) + ": " + std::to_string(report.results.size() - report.failed()) +
         " passed, " + std::to_string(report.failed()) + " failed";
  if (report.clauses > 0) {
    out += "; " + std::to_string(report.clauses - report.uncovered.size()) + " of " +
           counted(report.clauses, "clause") + " reached";
  }
  out += '\n';
  console.say(out);
  if (report.results.empty()) {
    console.complain("there is no example or case in these files");
    return ExitStatus::Usage;
  }
  return worst(status, report.failed() == 0 ? ExitStatus::Clean : ExitStatus::Found);
}

}  // namespace meniscus::adapters
