// Walking nodes (contract: node_walk.hpp).
#include "engine/program/node_walk.hpp"

namespace meniscus::engine {

void NodeWalk::push(NodeId id) {
  if (id == kNoNode || seen_[id]) return;
  seen_[id] = true;
  todo_.push_back(id);
}

void NodeWalk::push_lists(const Node& node) {
  if (node.op == Op::IsOneOf) {
    for (const NodeId each : program_.lists[node.a])
      push(each);
  }
  if (node.op == Op::LookUp || node.op == Op::LookUpEvery || node.op == Op::AnyRow) {
    push(program_.lookups[node.a].where);
    push(program_.lookups[node.a].otherwise);
  }
  if (node.op == Op::Query) {
    const Query& query = program_.queries[node.a];
    push(query.list);
    push(query.where);
    push(query.value);
  }
}

}  // namespace meniscus::engine
