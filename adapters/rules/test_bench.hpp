// The tests of a rule set, read once and judged often: each with its order in a block and with what
// its patient had before.
//
//   TestBench bench(program, tests);
//   scalar.begin(bench.facts(3));                     // stands at the fourth test's order
//
// Judged:  orders only; a `given`, a `stop` or what is no order is not (judged() is false).
// Lifetime: the program and the tests must outlive it.
#pragma once

#include <deque>
#include <memory>
#include <vector>

#include "adapters/rules/examples.hpp"
#include "engine/eval/checker.hpp"
#include "engine/eval/facts.hpp"
#include "engine/history/history.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

class TestBench {
 public:
  TestBench(const std::shared_ptr<const engine::Program>& program, const Tests& tests);

  [[nodiscard]] std::size_t size() const { return facts_.size(); }
  [[nodiscard]] const engine::Example& test(std::size_t i) const { return *tests_[i]; }
  [[nodiscard]] const engine::OrderFacts& facts(std::size_t i) const { return facts_[i]; }
  [[nodiscard]] const engine::Days& days(std::size_t i) const { return days_[i]; }
  [[nodiscard]] bool judged(std::size_t i) const { return judged_[i]; }
  /// A value of the order is in doubt.
  [[nodiscard]] bool doubtful(std::size_t i) const;

 private:
  void add(const engine::Program& program, const engine::Example& test, engine::Checker& checker);

  const Tests tests_;
  std::deque<engine::OrderBlock> blocks_;
  std::deque<engine::History> histories_;
  std::vector<engine::OrderFacts> facts_;
  std::vector<engine::Days> days_;
  std::vector<bool> judged_;
};

}  // namespace meniscus::adapters
