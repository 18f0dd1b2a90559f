// Some rules over some lanes of a block of trial orders: what would be found if an order said this.
//
//   judge.begin(trial, facts);          // facts: of every lane, each with the records to judge
//   against judge.run(tasks, result);           // adds to result; the trial orders go into no
//   history Lanes decided = judge.concerned(rule, lanes);
//
// Same:    as the Checker in either mode: over columns, or by the tree walk.
// Memory:  its own columns and scratch, kept and reused.
#pragma once

#include <span>
#include <vector>

#include "engine/eval/checker.hpp"
#include "engine/eval/columns.hpp"
#include "engine/eval/rule_run.hpp"

namespace meniscus::engine {

class Judge {
 public:
  /// `never_carries` must outlive this.
  Judge(const Program& program, Mode mode, const FieldSet& never_carries);

  struct Task {
    std::uint32_t rule = 0;
    Lanes lanes = 0;
  };

  /// Starts on `block`; both arguments are read until the next begin().
  void begin(const OrderBlock& block, std::span<const OrderFacts> facts);

  void run(std::span<const Task> tasks, RunResult& out);

  /// Lanes among `lanes` that the rule is about, beyond doubt.
  Lanes concerned(std::uint32_t rule, Lanes lanes);

 private:
  const Program& program_;
  Mode mode_;
  const FieldSet& never_carries_;
  const OrderBlock* block_ = nullptr;
  Scalar scalar_;
  Columns columns_;
  RunScratch scratch_;
};

}  // namespace meniscus::engine
