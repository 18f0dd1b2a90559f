// Walks the nodes below a node, each once: what a rule reads, and what its conditions imply.
#pragma once

#include <vector>

#include "engine/program/program.hpp"

namespace meniscus::grammar {

/// Calls `visit(id, node)` for every node below and including the roots that were added, once.
class NodeWalk {
 public:
  explicit NodeWalk(const engine::Program& program)
      : program_(program), seen_(program.nodes.size(), false) {}

  template <class Visit>
  void from(engine::NodeId root, Visit&& visit) {
    push(root);
    while (!todo_.empty()) {
      const engine::NodeId id = todo_.back();
      todo_.pop_back();
      const engine::Node& node = program_.nodes[id];
      visit(id, node);
      push(node.x);
      push(node.y);
      push(node.z);
      push_lists(node);
    }
  }

 private:
  void push(engine::NodeId id);
  void push_lists(const engine::Node& node);

  const engine::Program& program_;
  std::vector<bool> seen_;
  std::vector<engine::NodeId> todo_;
};

/// True when `later` cannot hold unless `earlier` does: equal conditions, a part of `earlier`'s
/// `or`, one more conjunct, or the same comparison with a stricter constant.  False otherwise.
bool implies(const engine::Program& program, engine::NodeId later, engine::NodeId earlier);

}  // namespace meniscus::grammar
