// What `rules test` runs: the examples beside the rules, the rows of the tables of cases, and the
// rules that they are to cover.
#pragma once

#include <cstdint>
#include <deque>
#include <string>
#include <vector>

#include "adapters/rules/examples.hpp"
#include "engine/base/diagnostic.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

struct TestSet {
  std::deque<engine::Example> cases;  // of the tables; addresses are stable
  Tests tests;                        // examples and cases; owned by the program and by `cases`
  std::vector<std::uint32_t> rules;   // Program::rules whose tests these are
  std::vector<engine::Diagnostic> diagnostics;
  std::vector<std::string> unreadable;  // one sentence each
};

/// `named`: files and folders whose tests are wanted, all of `program` when it is empty.  `loaded`:
/// where the program's rules came from.
TestSet find_tests(const engine::Program& program, const std::vector<std::string>& named,
                   const std::vector<std::string>& loaded);

}  // namespace meniscus::adapters
