// Contract: see why.hpp.
#include "adapters/rules/why.hpp"

#include <algorithm>

#include "engine/program/node_walk.hpp"

namespace meniscus::adapters {

namespace {
using engine::FieldId;
using engine::kNoNode;
using engine::Node;
using engine::NodeId;
using engine::Op;
using engine::Scalar;
using engine::Truth;
using engine::Type;

bool is_known(const std::vector<WhyValue>& values, std::string_view name) {
  return std::any_of(values.begin(), values.end(),
                     [&](const WhyValue& each) { return each.name == name; });
}

/// A condition that looks at rows, items or records has no value of its own.
bool can_be_shown(const Node& node) {
  return !node.scoped && node.type != Type::Record && node.type != Type::Items;
}
}  // namespace

std::string_view truth_words(Truth truth) {
  switch (truth) {
    case Truth::True:
      return "holds";
    case Truth::False:
    case Truth::Void:
      return "does not hold";
    case Truth::Unknown:
      return "cannot be told";
  }
  return {};
}

std::string listed(const std::vector<WhyValue>& values) {
  std::string text;
  for (const WhyValue& each : values) {
    if (!text.empty()) text += ", ";
    text.append(each.name).append(" = ").append(each.value);
  }
  return text;
}

WhyValue WhyTeller::value(Scalar& scalar, NodeId node, std::string name) const {
  const Node& n = program_.nodes[node];
  WhyValue result{std::move(name), {}, std::nullopt};
  if (n.op == Op::Field) result.field = static_cast<FieldId>(n.a);
  result.value = n.type == Type::Truth ? std::string(truth_words(scalar.truth(node)))
                                       : engine::value_text(scalar, node);
  return result;
}

void WhyTeller::add_side(Scalar& scalar, const engine::Rule& rule, NodeId node,
                         std::vector<WhyValue>& out) const {
  const Node& n = program_.nodes[node];
  if (n.op == Op::Constant || !can_be_shown(n)) return;
  std::string name(wording_.name(rule, node));
  if (name.empty()) name = wording_.text(rule, node);
  if (name.empty() || is_known(out, name)) return;
  out.push_back(value(scalar, node, std::move(name)));
}

void WhyTeller::add_sides(Scalar& scalar, const engine::Rule& rule, NodeId node,
                          std::vector<WhyValue>& out) const {
  const Node& n = program_.nodes[node];
  if (n.op == Op::AnyRow || n.op == Op::AnyItem) {
    engine::NodeWalk walk(program_);
    walk.from(node, [&](NodeId id, const Node& below) {
      if (below.op == Op::Field) add_side(scalar, rule, id, out);
    });
    return;
  }
  for (const NodeId side : {n.x, n.y, n.z})
    if (side != kNoNode) add_side(scalar, rule, side, out);
  if (n.op != Op::IsOneOf) return;
  for (const NodeId side : program_.lists[n.a])
    add_side(scalar, rule, side, out);
}

void WhyTeller::add_fields(Scalar& scalar, const engine::Rule& rule, NodeId node,
                           WhyCondition& condition) const {
  engine::NodeWalk walk(program_);
  walk.from(node, [&](NodeId id, const Node& below) {
    if (below.op != Op::Field || is_known(condition.sides, wording_.name(rule, id))) return;
    if (scalar.value(id).state != engine::State::Missing) {
      add_side(scalar, rule, id, condition.fields);
    }
  });
}

std::vector<WhyCondition> WhyTeller::conditions(Scalar& scalar, const engine::Rule& rule,
                                                const std::vector<engine::Decided>& decided) const {
  std::vector<WhyCondition> out;
  for (const engine::Decided& each : decided) {
    WhyCondition condition;
    condition.node = each.node;
    condition.truth = each.truth;
    condition.text = wording_.text(rule, each.shown);
    const engine::RulePlace place = wording_.place(rule, each.shown);
    condition.place.append(place.file).append(":").append(std::to_string(place.at.line));
    condition.place.append(":").append(std::to_string(place.at.column));
    add_sides(scalar, rule, each.node, condition.sides);
    add_fields(scalar, rule, each.node, condition);
    const auto same = [&](const WhyCondition& other) { return other.node == condition.node; };
    if (std::none_of(out.begin(), out.end(), same)) out.push_back(std::move(condition));
  }
  return out;
}

std::vector<WhyValue> WhyTeller::values(Scalar& scalar, const engine::Rule& rule) const {
  std::vector<NodeId> nodes;
  engine::NodeWalk walk(program_);
  const auto note = [&](NodeId id, const Node& /*node*/) { nodes.push_back(id); };
  walk.from(rule.concerns, note);
  for (const engine::Clause& clause : rule.clauses)
    walk.from(clause.when, note);
  std::sort(nodes.begin(), nodes.end());  // children first: what was written before what uses it
  std::vector<WhyValue> fields;
  std::vector<WhyValue> named;
  for (const NodeId id : nodes) {
    const Node& node = program_.nodes[id];
    if (!can_be_shown(node) || node.op == Op::Constant) continue;
    const std::string_view name = wording_.name(rule, id);
    if (name.empty() || is_known(fields, name) || is_known(named, name)) continue;
    if (node.op == Op::Field && scalar.value(id).state == engine::State::Missing) continue;
    (node.op == Op::Field ? fields : named).push_back(value(scalar, id, std::string(name)));
  }
  fields.insert(fields.end(), named.begin(), named.end());
  return fields;
}

}  // namespace meniscus::adapters
