// Contract: see rule_tests.hpp.
#include "adapters/cli/rule_tests.hpp"

#include <algorithm>
#include <utility>

#include "adapters/cli/rule_set.hpp"
#include "adapters/rules/rule_files.hpp"

namespace meniscus::adapters {

namespace {
/// Files that change rules of other files, where such a change is in force.
std::set<std::string> changing_files(const engine::Program& program) {
  std::set<std::string> files;
  for (const engine::LocalChange& change : program.changes) {
    if (!change.over && change.kind != engine::ChangeKind::Trial) files.insert(change.file);
  }
  return files;
}

/// Whether a test stands in one of `files`, or in the table of cases beside it.
bool stands_in(const engine::Example& test, const std::set<std::string>& files) {
  if (!test.in_table) return files.contains(test.file);
  return std::any_of(files.begin(), files.end(), [&](const std::string& file) {
    const auto tables = case_files_at(file);
    return std::find(tables.begin(), tables.end(), test.file) != tables.end();
  });
}
}  // namespace

RuleTests::RuleTests(std::shared_ptr<const engine::Program> program, const Arguments& arguments,
                     const std::vector<std::string>& paths)
    : program_(std::move(program)), set_(find_tests(*program_, arguments.files, paths)) {}

void RuleTests::keep(const std::set<std::string>& files, bool inside) {
  std::erase_if(set_.tests,
                [&](const engine::Example* test) { return stands_in(*test, files) != inside; });
  std::erase_if(set_.rules, [&](std::uint32_t rule) {
    return files.contains(program_->rules[rule].file) != inside;
  });
}

bool RuleTests::is_readable(const Console& console) const {
  for (const std::string& sentence : set_.unreadable)
    console.complain(sentence);
  for (const engine::Diagnostic& diagnostic : set_.diagnostics)
    console.say_err(render(diagnostic) + "\n");
  return set_.unreadable.empty() && set_.diagnostics.empty();
}

void RuleTests::run(ExamplesReport& into) const {
  ExamplesReport report = run_examples(program_, set_.tests, set_.rules);
  into.results.insert(into.results.end(), report.results.begin(), report.results.end());
  into.uncovered.insert(into.uncovered.end(), report.uncovered.begin(), report.uncovered.end());
  into.clauses += report.clauses;
}

void RuleTests::cover(Coverage& into, bool detail) const {
  into.add(adapters::cover(program_, set_.tests, set_.rules, detail));
}

std::deque<RuleTests> rule_tests(const std::shared_ptr<const engine::Program>& program,
                                 const Arguments& arguments, const Console& console,
                                 const std::vector<std::string>& paths) {
  std::deque<RuleTests> all;
  const std::set<std::string> files = changing_files(*program);
  const auto plain =
      files.empty() ? program : load_rule_set(arguments, console, {.apply_changes = false});
  if (plain == nullptr) return all;
  all.emplace_back(plain, arguments, paths);
  if (files.empty()) return all;
  all.front().keep(files, false);
  all.emplace_back(program, arguments, paths);
  all.back().keep(files, true);
  return all;
}

}  // namespace meniscus::adapters
