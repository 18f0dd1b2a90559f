// Simple implication between conditions.
#include "grammar/lower/node_walk.hpp"

#include <optional>

#include "engine/quantity/quantity.hpp"

namespace meniscus::grammar {

using engine::Node;
using engine::NodeId;
using engine::Op;
using engine::Program;

namespace {

/// Both limits are known quantities of one dimension: -1, 0 or 1 as `a` is below, at, above `b`.
std::optional<int> compare_constants(const Program& program, NodeId a, NodeId b) {
  const Node& x = program.nodes[a];
  const Node& y = program.nodes[b];
  if (x.op != Op::Constant || y.op != Op::Constant) return std::nullopt;
  const engine::Value& left = program.constants[x.a];
  const engine::Value& right = program.constants[y.a];
  if (x.type != engine::Type::Quantity || left.aux != right.aux) return std::nullopt;
  return engine::compare(left.number, right.number);
}

/// The same comparison with a limit that is at least as strict.
bool stricter(const Program& program, const Node& later, const Node& earlier) {
  if (later.op != earlier.op || later.x != earlier.x) return false;
  if (later.op == Op::DiffersByShare || later.op == Op::DiffersByAmount) {
    if (later.y != earlier.y) return false;
    const auto order = compare_constants(program, later.z, earlier.z);
    return order && *order >= 0;
  }
  const bool up = later.op == Op::Greater || later.op == Op::GreaterEqual;
  const bool down = later.op == Op::Less || later.op == Op::LessEqual;
  if (!up && !down) return false;
  const auto order = compare_constants(program, later.y, earlier.y);
  return order && (up ? *order >= 0 : *order <= 0);
}

}  // namespace

bool implies(const Program& program, NodeId later, NodeId earlier) {
  if (later == earlier) return true;
  const Node& a = program.nodes[later];
  const Node& b = program.nodes[earlier];
  if (b.op == Op::And) return implies(program, later, b.x) && implies(program, later, b.y);
  if (a.op == Op::Or) return implies(program, a.x, earlier) && implies(program, a.y, earlier);
  if (a.op == Op::And && (implies(program, a.x, earlier) || implies(program, a.y, earlier))) {
    return true;
  }
  if (b.op == Op::Or && (implies(program, later, b.x) || implies(program, later, b.y))) return true;
  return stricter(program, a, b);
}

}  // namespace meniscus::grammar
