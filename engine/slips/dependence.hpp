// Which fields a rule's answer depends on, worked out from the nodes of its conditions once.
//
// Wider than Rule::reads: it has what the engine's own values read, what fixes the day that an
// order is judged as of and planned for, and what stands behind a derived age.
#pragma once

#include <vector>

#include "engine/program/program.hpp"

namespace meniscus::engine::slips {

struct Dependence {
  explicit Dependence(const Program& program);

  std::vector<FieldSet> rule;          // by rule: fields whose change may change its answer
  std::vector<FieldSet> rule_written;  // by rule: fields that it reads as text
  FieldSet any;                        // of all rules
  FieldSet written;
};

/// By node: the fields whose change may change its value.
std::vector<FieldSet> fields_by_node(const Program& program);

}  // namespace meniscus::engine::slips
