// Changes of single nodes in a copy of the program (contract: mutants.hpp).
#include "engine/proof/mutants.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {
namespace {

constexpr double kTenth = 0.1;
constexpr double kHair =
    1e-6;  // far more than the tolerance of numbers, far less than a written one
constexpr double kDay = 86400;
constexpr double kGauges = 2;  // sizes of needles are one or two apart
constexpr NodeId kSpares = 4;

bool is_ordered(Op op) {
  return op == Op::Less || op == Op::LessEqual || op == Op::Greater || op == Op::GreaterEqual;
}
bool is_gauge(Op op) { return op == Op::ThinnerThan || op == Op::WiderThan; }
bool differs(Op op) { return op == Op::DiffersByShare || op == Op::DiffersByAmount; }

/// Conditions that hold other conditions, and what is no condition.
bool is_comparison(const Node& node) {
  return node.type == Type::Truth && node.op != Op::And && node.op != Op::Or &&
         node.op != Op::Not && node.op != Op::Choose && node.op != Op::OrElse;
}

std::optional<Op> opposite(Op op) {
  constexpr std::array<std::pair<Op, Op>, 3> kPairs = {
      {{Op::Less, Op::GreaterEqual}, {Op::LessEqual, Op::Greater}, {Op::Equal, Op::NotEqual}}};
  for (const auto& [a, b] : kPairs) {
    if (op == a) return b;
    if (op == b) return a;
  }
  return std::nullopt;
}

std::optional<Op> other_at_limit(Op op) {
  constexpr std::array<std::pair<Op, Op>, 2> kPairs = {
      {{Op::Less, Op::LessEqual}, {Op::Greater, Op::GreaterEqual}}};
  for (const auto& [a, b] : kPairs) {
    if (op == a) return b;
    if (op == b) return a;
  }
  return std::nullopt;
}

/// Nodes of a rule in the order in which they are met, without what look-ups ask of their rows.
class RuleNodes {
 public:
  explicit RuleNodes(const Program& program) : program_(program), seen_(program.nodes.size()) {}

  void add(NodeId id) {
    if (id == kNoNode || seen_[id]) return;
    seen_[id] = true;
    const Node& node = program_.nodes[id];
    all.push_back(id);
    for (const NodeId child : {node.x, node.y, node.z})
      add(child);
    if (node.op == Op::IsOneOf) {
      for (const NodeId child : program_.lists[node.a])
        add(child);
    }
    if (node.op == Op::LookUp) add(program_.lookups[node.a].otherwise);
    if (node.op == Op::Query) {
      const Query& query = program_.queries[node.a];
      for (const NodeId child : {query.list, query.where, query.value})
        add(child);
    }
  }

  std::vector<NodeId> all;

 private:
  const Program& program_;
  std::vector<bool> seen_;
};

}  // namespace

Grade other_grade(Grade grade) {
  switch (grade) {
    case Grade::Note:
      return Grade::Caution;
    case Grade::Caution:
      return Grade::Note;
    case Grade::Clarify:
      return Grade::Caution;
    case Grade::Hold:
      return Grade::Clarify;
  }
  return grade;
}

bool is_point(MutantKind kind) {
  return kind == MutantKind::AtLimit || kind == MutantKind::LimitUp ||
         kind == MutantKind::LimitDown;
}

Mutator::Mutator(const Program& program) : program_(program) {
  spare_ = static_cast<NodeId>(program_.nodes.size());
  program_.nodes.resize(program_.nodes.size() + kSpares);
  first_constant_ = add_constant(Value::quantity(0, dim::kNumber));
  day_ = add_constant(Value::quantity(kDay, dim::kTime));
  one_ = add_constant(Value::quantity(1, dim::kNumber));
}

std::uint32_t Mutator::add_constant(const Value& value) {
  program_.constants.push_back(value);
  return static_cast<std::uint32_t>(program_.constants.size() - 1);
}

std::vector<Mutant> Mutator::mutants(std::uint32_t rule) const {
  const Rule& r = program_.rules[rule];
  RuleNodes nodes(program_);
  nodes.add(r.concerns);
  for (const Clause& clause : r.clauses)
    nodes.add(clause.when);
  std::vector<Mutant> out;
  for (const NodeId id : nodes.all)
    if (is_comparison(program_.nodes[id])) add_comparison(id, out);
  for (std::uint32_t i = 0; i < r.clauses.size(); ++i)
    out.push_back({MutantKind::Milder, kNoNode, kNoNode, i, std::nullopt});
  for (std::uint32_t i = 0; i < r.withouts.size(); ++i)
    if (!r.withouts[i].ignore)
      out.push_back({MutantKind::Milder, kNoNode, kNoNode, std::nullopt, i});
  return out;
}

void Mutator::add_comparison(NodeId id, std::vector<Mutant>& out) const {
  const Node& node = program_.nodes[id];
  out.push_back({MutantKind::Opposite, id, kNoNode, std::nullopt, std::nullopt});
  if (is_ordered(node.op) || is_gauge(node.op)) {
    const Op left = program_.nodes[node.x].op;
    const Op right = program_.nodes[node.y].op;
    const bool fixed_left = (left == Op::Constant || left == Op::Setting) && right != Op::Constant;
    add_limit(id, fixed_left ? node.x : node.y, true, out);
  } else if (node.op == Op::Between) {
    const bool has_strict = program_.nodes[node.x].type == Type::Quantity;
    add_limit(id, node.y, has_strict, out);
    add_limit(id, node.z, has_strict, out);
  } else if (differs(node.op)) {
    add_limit(id, node.z, true, out);
  }
}

void Mutator::add_limit(NodeId id, NodeId limit, bool has_strict, std::vector<Mutant>& out) const {
  const Node& node = program_.nodes[limit];
  const bool zero = node.op == Op::Constant && program_.constants[node.a].number == 0;
  if (has_strict) out.push_back({MutantKind::AtLimit, id, limit, std::nullopt, std::nullopt});
  if (zero) return;  // a tenth of nothing
  out.push_back({MutantKind::LimitUp, id, limit, std::nullopt, std::nullopt});
  out.push_back({MutantKind::LimitDown, id, limit, std::nullopt, std::nullopt});
}

void Mutator::replace_operand(NodeId id, NodeId from, NodeId to) {
  Node& node = program_.nodes[id];
  // The last of equal operands is the limit: `between` has it as upper, `differs` as room.
  for (NodeId* operand : {&node.z, &node.y, &node.x}) {
    if (*operand != from) continue;
    *operand = to;
    return;
  }
}

/// Days and whole numbers move by a whole one at least.
std::optional<std::uint32_t> Mutator::whole_step(NodeId limit) const {
  const Node& node = program_.nodes[limit];
  if (node.varies || node.percent) return std::nullopt;
  if (node.dimension == dim::kTime) return day_;
  if (!node.dimension.is_number()) return std::nullopt;
  const Value value = node.op == Op::Constant  ? program_.constants[node.a]
                      : node.op == Op::Setting ? program_.settings[node.a].value
                                               : Value::missing();
  const bool whole = value.known() && value.number >= 1 && value.number == std::floor(value.number);
  return whole ? std::optional<std::uint32_t>(one_) : std::nullopt;
}

NodeId Mutator::scaled(NodeId limit, double factor, std::optional<std::uint32_t> whole) {
  const Node& old = program_.nodes[limit];
  Node result = old;
  result.x = limit;
  result.y = spare_ + 1;
  result.z = kNoNode;
  result.a = 0;
  Node number;
  number.op = Op::Constant;
  number.type = old.type;
  number.a = first_constant_;
  Value& constant = program_.constants[first_constant_];
  if (old.type == Type::Date) {
    constant = Value::quantity(factor > 1 ? kDay : -kDay, dim::kTime);
    number.type = Type::Quantity;
    result.op = Op::DateAfter;
    std::swap(result.x, result.y);
  } else if (old.type == Type::Gauge) {
    constant = {factor > 1 ? kGauges : -kGauges, 0, {}, State::Known};
    result.op = Op::Add;
  } else {
    constant = Value::quantity(factor, dim::kNumber);
    result.op = Op::Multiply;
  }
  program_.nodes[spare_ + 1] = number;
  program_.nodes[spare_] = result;
  if (!whole) return spare_;
  number.a = *whole;
  program_.nodes[spare_ + 2] = number;
  result.op = factor > 1 ? Op::RoundUp : Op::RoundDown;
  result.x = spare_;
  result.y = spare_ + 2;
  program_.nodes[spare_ + 3] = result;
  return spare_ + 3;
}

void Mutator::negate(NodeId id) {
  program_.nodes[spare_] = program_.nodes[id];
  Node& node = program_.nodes[id];
  node.op = Op::Not;
  node.x = spare_;
  node.y = kNoNode;
  node.z = kNoNode;
}

void Mutator::move_at(const Mutant& mutant) {
  Node& node = program_.nodes[mutant.node];
  if (const auto op = other_at_limit(node.op)) {
    node.op = *op;
    return;
  }
  if (is_gauge(node.op)) {  // thinner than or the same: not wider than
    node.op = node.op == Op::ThinnerThan ? Op::WiderThan : Op::ThinnerThan;
    return negate(mutant.node);
  }
  const bool lower = node.op == Op::Between && mutant.limit == node.y && node.y != node.z;
  replace_operand(mutant.node, mutant.limit,
                  scaled(mutant.limit, lower ? 1 + kHair : 1 - kHair, std::nullopt));
}

void Mutator::apply(std::uint32_t rule, const Mutant& mutant) {
  changed_ = mutant.node;
  if (mutant.node != kNoNode) before_ = program_.nodes[mutant.node];
  rule_ = nullptr;
  switch (mutant.kind) {
    case MutantKind::AtLimit:
      return move_at(mutant);
    case MutantKind::LimitUp:
    case MutantKind::LimitDown: {
      const double factor = mutant.kind == MutantKind::LimitUp ? 1 + kTenth : 1 - kTenth;
      return replace_operand(mutant.node, mutant.limit,
                             scaled(mutant.limit, factor, whole_step(mutant.limit)));
    }
    case MutantKind::Opposite: {
      Node& node = program_.nodes[mutant.node];
      const std::optional<Op> op = opposite(node.op);
      if (!op) return negate(mutant.node);
      node.op = *op;
      return;
    }
    case MutantKind::Milder: {
      rule_ = &program_.rules[rule];
      graded_ = mutant;
      Grade& grade = mutant.clause ? rule_->clauses[*mutant.clause].grade
                                   : rule_->withouts[*mutant.without].grade;
      grade_before_ = grade;
      grade = other_grade(grade);
      return;
    }
  }
}

void Mutator::undo() {
  if (changed_ != kNoNode) program_.nodes[changed_] = before_;
  changed_ = kNoNode;
  if (rule_ == nullptr) return;
  (graded_.clause ? rule_->clauses[*graded_.clause].grade
                  : rule_->withouts[*graded_.without].grade) = grade_before_;
  rule_ = nullptr;
}

}  // namespace meniscus::engine
