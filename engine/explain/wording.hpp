// What a node of the program is called, and where it stands in the rules.
//
//   const Wording wording(program);
//   wording.text(rule, node)    // "volume > home-volume", or a name: "expected", "patient.age"
//   wording.place(rule, node)   // home.rule:7:29
//
// Equal expressions are one node: of its places the one in the rule itself counts, then the first.
// Threads: immutable; the program must outlive it.
#pragma once

#include <string>
#include <string_view>

#include "engine/eval/scalar.hpp"
#include "engine/program/program.hpp"

namespace meniscus::engine {

struct RulePlace {
  std::string_view file;  // empty: the node stands nowhere by itself
  LineColumn at;
};

class Wording {
 public:
  explicit Wording(const Program& program) : program_(program) {}

  /// As it is written in the rules; line breaks and what is around them become one blank.  Empty
  /// where it stands nowhere by itself.
  [[nodiscard]] std::string text(const Rule& rule, NodeId node) const;
  /// The field, setting, `let` or `define` that the node is; empty when it is none.
  [[nodiscard]] std::string_view name(const Rule& rule, NodeId node) const;
  [[nodiscard]] RulePlace place(const Rule& rule, NodeId node) const;

 private:
  [[nodiscard]] const Spelling* find(const Rule& rule, NodeId node) const;
  const Program& program_;
};

/// A value of the order that `scalar` stands at, for people: a field as it was written, a cell or a
/// setting as its table or rule has it, what is worked out in the unit that docs/units.md names.
std::string value_text(Scalar& scalar, NodeId node);

}  // namespace meniscus::engine
