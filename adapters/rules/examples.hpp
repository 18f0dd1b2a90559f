// The examples beside the rules and the rows of the tables of cases, run through the order model
// and the checker.
//
// Each is a patient of its own: its earlier lines come first, then its order (example_orders.hpp).
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/rules/why.hpp"
#include "engine/program/program.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

struct ExampleFailure {
  std::string expected;  // "hold from dose-volume-agreement"
  std::string got;       // "clarify from dose-volume-agreement"; what the rule or order gave
  std::vector<WhyCondition> decided;  // of the rule in question; empty where none is
  std::vector<WhyValue> values;       // that it used
};
struct ExampleResult {
  const engine::Example* example = nullptr;
  std::vector<ExampleFailure> failures;  // empty: passed
};
/// A clause, or a `without` that raises, which nothing makes speak.
struct Uncovered {
  std::string_view rule;
  std::size_t clause = 0;  // from 1; 0: a `without`
  std::uint32_t line = 0;
};
struct ExamplesReport {
  std::vector<ExampleResult> results;
  std::vector<Uncovered> uncovered;
  std::size_t clauses = 0;  // and withouts that raise
  [[nodiscard]] std::size_t failed() const;
};

using Tests = std::vector<const engine::Example*>;

/// Runs `tests`.  `rules`: those whose clauses are counted.
ExamplesReport run_examples(const std::shared_ptr<const engine::Program>& program,
                            const Tests& tests, const std::vector<std::uint32_t>& rules);

/// The verdict of the checker about one example or case.
engine::Verdict judge_example(const std::shared_ptr<const engine::Program>& program,
                              const engine::Example& example);

}  // namespace meniscus::adapters
