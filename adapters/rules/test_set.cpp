// Contract: see test_set.hpp.
#include "adapters/rules/test_set.hpp"

#include <algorithm>
#include <set>
#include <utility>

#include "adapters/rules/case_table.hpp"
#include "adapters/rules/rule_files.hpp"

namespace meniscus::adapters {

namespace {
void read_tables(const engine::Program& program, const std::vector<std::string>& paths,
                 TestSet& out) {
  std::set<std::string> seen;
  for (const std::string& path : paths) {
    for (const std::string& file : case_files_at(path)) {
      if (!seen.insert(file).second) continue;
      const auto text = read_file(file);
      if (!text) {
        out.unreadable.push_back(text.error().message);
        continue;
      }
      CaseTable table = read_cases(file, *text, program);
      std::move(table.cases.begin(), table.cases.end(), std::back_inserter(out.cases));
      std::move(table.diagnostics.begin(), table.diagnostics.end(),
                std::back_inserter(out.diagnostics));
    }
  }
}

bool is_about(const Tests& tests, const engine::Rule& rule) {
  return std::any_of(tests.begin(), tests.end(), [&](const engine::Example* test) {
    return std::any_of(test->expectations.begin(), test->expectations.end(),
                       [&](const engine::Expectation& e) { return e.rule == rule.name; });
  });
}
}  // namespace

TestSet find_tests(const engine::Program& program, const std::vector<std::string>& named,
                   const std::vector<std::string>& loaded) {
  TestSet out;
  const std::set<std::string> files = rule_files_of(named);
  const auto wanted = [&](const std::string& file) {
    return named.empty() || files.contains(file);
  };
  read_tables(program, named.empty() ? loaded : named, out);
  for (const engine::Example& example : program.examples)
    if (wanted(example.file)) out.tests.push_back(&example);
  for (const engine::Example& each : out.cases)
    out.tests.push_back(&each);
  // Only tables are named: the rules that they are about.
  const bool by_tests = !named.empty() && files.empty();
  for (std::uint32_t i = 0; i < program.rules.size(); ++i) {
    const engine::Rule& rule = program.rules[i];
    if (by_tests ? is_about(out.tests, rule) : wanted(rule.file)) out.rules.push_back(i);
  }
  return out;
}

}  // namespace meniscus::adapters
