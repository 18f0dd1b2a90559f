// Slips: what single change of an order would settle its findings of `clarify` and `hold`.
//
//   SlipFinder finder(program, mode, never_carries, days);
//   finder.find(scalar, {&over_columns, &lane_by_lane}, verdict);   // fills verdict.slips
//
// A question: nothing is changed; the trial orders are judged against the order's own history and
//           go into none.
// Cleared:  a finding counts as cleared when its rule still is about the order, is decided, and
// finds
//           nothing; and when all grave findings of its group are.
// Nothing new: a change that brings any finding, or leaves anything undecided that was not before,
//           is no answer.
// Ranked:   by how much it clears, how common such a slip is (kinds.def), whether a finding blames
//           the field, and how small the change is.
// Bounded:  at most Candidates::kMostCandidates changes are tried, 64 at a time, and of the rules
//           only those that depend on a changed field.
// Memory:   kept and reused.  Nothing is done, or taken, before an order with such a finding comes.
#pragma once

#include <array>
#include <memory>

#include "engine/eval/facts.hpp"
#include "engine/eval/judge.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::engine {

class SlipFinder {
 public:
  static constexpr std::size_t kMostSlips = 3;

  /// `program` and `never_carries` must outlive this.
  SlipFinder(const Program& program, Mode mode, const FieldSet& never_carries, const Days& days);
  ~SlipFinder();
  SlipFinder(const SlipFinder&) = delete;
  SlipFinder& operator=(const SlipFinder&) = delete;

  /// From the next order on.
  void set_days(const Days& days);

  /// `scalar` stands at the order, `results` hold what its rules found, and `verdict` says it.
  void find(Scalar& scalar, std::array<const RunResult*, 2> results, Verdict& verdict);

 private:
  class Work;
  const Program& program_;
  Mode mode_;
  const FieldSet& never_carries_;
  Days days_;
  std::unique_ptr<Work> work_;
};

}  // namespace meniscus::engine
