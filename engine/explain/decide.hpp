// Which conditions decided what a rule said of one order.
//
//   scalar.begin(facts);
//   for (const Decided& d : deciding(program, scalar, rule.clauses[0].when)) ...
//
// A condition is walked from its top: of an `and` that does not hold, the first part that does not
// hold decided; of one that holds, every part did.  An `or` is the reverse.  What is left are
// comparisons and questions, none of them `and`, `or` or `not`.
#pragma once

#include <vector>

#include "engine/eval/rule_run.hpp"
#include "engine/eval/scalar.hpp"

namespace meniscus::engine {

struct Decided {
  NodeId node = kNoNode;   // the comparison or question
  NodeId shown = kNoNode;  // it, or the `not` around it: what stands in the rule
  Truth truth{};           // of `shown`
};
std::vector<Decided> deciding(Scalar& scalar, NodeId condition);

/// What one rule made of the order.
enum class RuleEnd : std::uint8_t {
  Fired,      // a clause holds, or a `without` raises
  Clear,      // it is about the order, and nothing held
  NotAbout,   // `concerns` does not hold
  Undecided,  // data are missing, and no `without` answers for it
  Ignored     // data are missing, and a `without` says that this is no matter
};
struct RuleAnswer {
  RuleEnd end{};
  std::optional<std::uint32_t>
      clause;  // Fired by it; Undecided: the first left open, none: concerns
  std::optional<std::uint32_t> without;  // Fired by it
  Grade grade{};                         // Fired
  bool also_undecided = false;           // Fired, and a graver clause was left open
  friend bool operator==(const RuleAnswer&, const RuleAnswer&) = default;
};
/// Runs one rule by the tree walk.  `never`: fields that the feed never carries.
RuleAnswer answer_of(Scalar& scalar, std::uint32_t rule, const FieldSet& never, RunScratch& scratch,
                     RunResult& result);

/// The conditions that led to `answer`: those that let the order in, or the first that kept it out.
/// For Clear: of every clause.
std::vector<Decided> reasons(Scalar& scalar, std::uint32_t rule, const RuleAnswer& answer);

}  // namespace meniscus::engine
