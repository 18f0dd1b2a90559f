// The examples and cases of a loaded rule set, each with the program that it is about: those beside
// local changes with the rules as changed, all others with the rules as they stand.
#pragma once

#include <deque>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/rules/coverage.hpp"
#include "adapters/rules/examples.hpp"
#include "adapters/rules/test_set.hpp"

namespace meniscus::adapters {

/// A program and the tests that are run on it.
class RuleTests {
 public:
  RuleTests(std::shared_ptr<const engine::Program> program, const Arguments& arguments,
            const std::vector<std::string>& paths);
  RuleTests(const RuleTests&) = delete;  // the tests point into the set
  RuleTests& operator=(const RuleTests&) = delete;

  /// Keeps the tests of `files`, or those of all others.
  void keep(const std::set<std::string>& files, bool inside);
  /// Says what cannot be read.
  [[nodiscard]] bool is_readable(const Console& console) const;
  void run(ExamplesReport& into) const;
  void cover(Coverage& into, bool detail) const;

 private:
  std::shared_ptr<const engine::Program> program_;
  TestSet set_;
};

/// `program` was loaded with the local changes.  Loads the rules without them where that is needed;
/// empty when these have mistakes, which are said.
std::deque<RuleTests> rule_tests(const std::shared_ptr<const engine::Program>& program,
                                 const Arguments& arguments, const Console& console,
                                 const std::vector<std::string>& paths);

}  // namespace meniscus::adapters
