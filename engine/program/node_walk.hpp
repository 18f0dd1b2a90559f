// Walks the nodes below a node, each once: through look-ups and queries too.
#pragma once

#include <vector>

#include "engine/program/program.hpp"

namespace meniscus::engine {

/// Calls `visit(id, node)` for every node below and including the roots that were added, once.
class NodeWalk {
 public:
  explicit NodeWalk(const Program& program)
      : program_(program), seen_(program.nodes.size(), false) {}

  template <class Visit>
  void from(NodeId root, Visit&& visit) {
    push(root);
    while (!todo_.empty()) {
      const NodeId id = todo_.back();
      todo_.pop_back();
      const Node& node = program_.nodes[id];
      visit(id, node);
      push(node.x);
      push(node.y);
      push(node.z);
      push_lists(node);
    }
  }

 private:
  void push(NodeId id);
  void push_lists(const Node& node);

  const Program& program_;
  std::vector<bool> seen_;
  std::vector<NodeId> todo_;
};

}  // namespace meniscus::engine
