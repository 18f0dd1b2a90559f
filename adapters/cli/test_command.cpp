// `meniscus rules test`: the examples and cases, what failed and why (contract: rules_command.hpp).
#include <algorithm>
#include <deque>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/cli/counted.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/cli/rule_tests.hpp"
#include "adapters/cli/rules_command.hpp"
#include "adapters/report/output.hpp"
#include "adapters/report/wrap.hpp"
#include "adapters/rules/coverage.hpp"
#include "adapters/rules/examples.hpp"
#include "engine/base/diagnostic.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters {

namespace {
using engine::MutantKind;

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

std::string share_text(std::size_t part, std::size_t whole) {
  return std::to_string(part) + " of " + std::to_string(whole);
}

/// Rounded down: 100 % is said of all only.
std::size_t percent(std::size_t part, std::size_t whole) {
  return whole == 0 ? 100 : part * 100 / whole;
}

std::string_view what_goes_unnoticed(MutantKind kind) {
  switch (kind) {
    case MutantKind::AtLimit:
      return "no test stands at the limit: `<` or `<=`, `>` or `>=` makes no difference";
    case MutantKind::LimitUp:
      return "no test notices a limit that is a tenth higher";
    case MutantKind::LimitDown:
      return "no test notices a limit that is a tenth lower";
    case MutantKind::Opposite:
      return "no test notices the opposite";
    case MutantKind::Milder:
      return "no test notices another grade";
  }
  return {};
}

void append_unnoticed(std::string& out, const Unnoticed& each, const std::string& condition) {
  if (each.condition != condition || each.condition.empty()) {
    out += "  ";
    out += each.place;
    out += ": ";
    append_plain(out, each.condition.empty() ? each.grade : each.condition);
    out += '\n';
  }
  append_entry(out, "", what_goes_unnoticed(each.kind));
  if (!each.telling) return;
  const TellingOrder& telling = *each.telling;
  std::string text = telling.order;
  if (telling.earlier > 0) text += " (after " + counted(telling.earlier, "earlier line") + ")";
  text += ": now " + telling.now + ", changed " + telling.changed;
  append_entry(out, "would tell", text);
}

/// One by one, what no test notices.
void append_details(std::string& out, const Coverage& coverage) {
  if (coverage.unnoticed.empty()) return;
  out += "What no test notices:\n";
  std::string rule;
  std::string condition;
  for (const Unnoticed& each : coverage.unnoticed) {
    if (each.rule != rule) {
      rule = each.rule;
      condition.clear();
      out += rule + '\n';
    }
    append_unnoticed(out, each, condition);
    condition = each.condition;
  }
}

void append_coverage(std::string& out, const Coverage& coverage) {
  const std::size_t points = coverage.below.all + coverage.at.all + coverage.above.all;
  if (points > 0) {
    const std::size_t held = coverage.below.held + coverage.at.held + coverage.above.held;
    out += "limits: " + share_text(held, points) + " points are held by a test (just below " +
           share_text(coverage.below.held, coverage.below.all) + ", at the limit " +
           share_text(coverage.at.held, coverage.at.all) + ", just above " +
           share_text(coverage.above.held, coverage.above.all) + ")\n";
  }
  out += "changes: " + share_text(coverage.noticed, coverage.changes) +
         " small changes of the rules are noticed by a test, " +
         std::to_string(percent(coverage.noticed, coverage.changes)) + " %\n";
}

/// "12 examples and 3 cases".
std::string tests_counted(const ExamplesReport& report) {
  const auto cases = static_cast<std::size_t>(
      std::count_if(report.results.begin(), report.results.end(),
                    [](const ExampleResult& result) { return result.example->in_table; }));
  const std::size_t examples = report.results.size() - cases;
  std::string text;
  if (examples > 0 || cases == 0) text = counted(examples, "example");
  if (cases == 0) return text;
  if (!text.empty()) text += " and ";
  return text + counted(cases, "case");
}

}  // namespace

ExitStatus run_rules_test(const Arguments& arguments, const Console& console) {
  const auto program = load_rule_set(arguments, console);
  const auto paths = rule_paths(arguments, console);
  if (program == nullptr || !paths) return ExitStatus::Usage;
  const std::deque<RuleTests> all = rule_tests(program, arguments, console, *paths);
  if (all.empty()) return ExitStatus::Usage;
  // Both have read the same tables; the rules as they stand know every name that these use.
  ExitStatus status = all.front().is_readable(console) ? ExitStatus::Clean : ExitStatus::Usage;
  ExamplesReport report;
  for (const RuleTests& part : all)
    part.run(report);
  std::string out;
  for (const ExampleResult& result : report.results) {
    if (!result.failures.empty()) report_failure(out, result);
  }
  report_uncovered(out, report);
  out += tests_counted(report) + ": " + std::to_string(report.results.size() - report.failed()) +
         " passed, " + std::to_string(report.failed()) + " failed";
  if (report.clauses > 0) {
    out += "; " + std::to_string(report.clauses - report.uncovered.size()) + " of " +
           counted(report.clauses, "clause") + " reached";
  }
  out += '\n';
  Coverage coverage;
  for (const RuleTests& part : all)
    part.cover(coverage, arguments.coverage);
  if (arguments.coverage) append_details(out, coverage);
  append_coverage(out, coverage);
  console.say(out);
  if (report.results.empty()) {
    console.complain("there is no example or case in these files");
    return ExitStatus::Usage;
  }
  const auto noticed = static_cast<double>(coverage.noticed) * 100;
  if (arguments.need && noticed < *arguments.need * static_cast<double>(coverage.changes)) {
    console.complain("fewer than " + engine::format_number(*arguments.need) +
                     " % of the changes are noticed; `--coverage` lists the others");
    status = worst(status, ExitStatus::Found);
  }
  return worst(status, report.failed() == 0 ? ExitStatus::Clean : ExitStatus::Found);
}

}  // namespace meniscus::adapters
