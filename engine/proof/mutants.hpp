// Small changes of a rule, one at a time: what its tests should notice.
//
//   Mutator mutator(program);                        // works on a copy
//   for (const Mutant& mutant : mutator.mutants(rule)) {
//     mutator.apply(mutant);
//     ... judge the rule's tests with mutator.program() ...
//     mutator.undo();
//   }
//
// Changed:  each comparison of a rule's `concerns` and clauses, through its lets and definitions,
//           and each grade. Equal comparisons of a rule are one node and change together. The
//           `where` of a look-up is not changed: it says which row is meant, and tables have tests
//           of their own.
// By:       the tree walk only (eval/scalar.hpp); nothing that was worked out from the program
//           before the change may be used after it.
// Not for threads.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "engine/program/program.hpp"

namespace meniscus::engine {

enum class MutantKind : std::uint8_t {
  AtLimit,    // the limit itself belongs to the other side: `<` for `<=`
  LimitUp,    // the limit is a tenth higher; a day later, a day or a whole number more where it is
              // one
  LimitDown,  // likewise lower
  Opposite,   // the comparison is turned round: `is` for `is not`
  Milder,     // the next milder grade; of a note: a caution
};

/// One change.  `limit`: which operand of the comparison is the limit that it is about.
struct Mutant {
  MutantKind kind{};
  NodeId node = kNoNode;                 // of a comparison; kNoNode: a grade
  NodeId limit = kNoNode;                // operand of the comparison
  std::optional<std::uint32_t> clause;   // of a grade
  std::optional<std::uint32_t> without;  // of a grade
};

/// The grade that Milder puts in the place of `grade`.
Grade other_grade(Grade grade);
/// AtLimit, LimitUp and LimitDown are about the points of a limit.
bool is_point(MutantKind kind);

class Mutator {
 public:
  explicit Mutator(const Program& program);

  [[nodiscard]] const Program& program() const { return program_; }
  [[nodiscard]] std::vector<Mutant> mutants(std::uint32_t rule) const;

  /// One at a time: undo() before the next.
  void apply(std::uint32_t rule, const Mutant& mutant);
  void undo();

 private:
  void add_comparison(NodeId id, std::vector<Mutant>& out) const;
  void add_limit(NodeId id, NodeId limit, bool has_strict, std::vector<Mutant>& out) const;
  void negate(NodeId id);
  void move_limit(const Mutant& mutant);
  void move_at(const Mutant& mutant);
  NodeId scaled(NodeId limit, double factor, std::optional<std::uint32_t> whole);
  void replace_operand(NodeId id, NodeId from, NodeId to);
  [[nodiscard]] std::optional<std::uint32_t> whole_step(NodeId limit) const;
  std::uint32_t add_constant(const Value& value);

  Program program_;
  NodeId spare_ = kNoNode;  // the first of the nodes that changes may use
  std::uint32_t first_constant_ = 0;
  std::uint32_t day_ = 0;  // constants
  std::uint32_t one_ = 0;
  NodeId changed_ = kNoNode;
  Node before_;
  Rule* rule_ = nullptr;  // whose grade was changed
  Mutant graded_;
  Grade grade_before_{};
};

}  // namespace meniscus::engine
