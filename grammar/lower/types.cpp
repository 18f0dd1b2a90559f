// What a value must be, and what to say when it is not.
#include <utility>

#include "engine/quantity/quantity.hpp"
#include "grammar/lower/expression.hpp"

namespace meniscus::grammar {

namespace dim = engine::dim;
using engine::FieldKind;

Type type_of(FieldKind kind) {
  switch (kind) {
    case FieldKind::Id:
    case FieldKind::Code:
    case FieldKind::Word:
      return Type::Word;
    case FieldKind::Text:
      return Type::Text;
    case FieldKind::Quantity:
    case FieldKind::Amount:
    case FieldKind::Strength:
    case FieldKind::AmountPerBodyMass:
    case FieldKind::Count:
      return Type::Quantity;
    case FieldKind::Gauge:
      return Type::Gauge;
    case FieldKind::Date:
    case FieldKind::MonthEnd:
      return Type::Date;
    case FieldKind::YesNo:
      return Type::YesNo;
    case FieldKind::Words:
      return Type::Texts;
    case FieldKind::Components:
    case FieldKind::Steps:
    case FieldKind::Sites:
      break;
  }
  return Type::Items;
}

DimensionSet dimensions_of(const engine::FieldInfo& field) {
  if (field.kind == FieldKind::Amount) return DimensionSet::amount();
  if (field.kind == FieldKind::Strength) return DimensionSet::strength();
  if (field.kind == FieldKind::AmountPerBodyMass) return DimensionSet::amount_per_body_mass();
  if (field.kind == FieldKind::Quantity) return field.dimension;
  return {};
}

std::string ExpressionLowering::describe(NodeId node) const {
  switch (w_.nodes.type(node)) {
    case Type::Truth:
      return "a condition";
    case Type::Quantity: {
      const std::string what = w_.nodes.dimensions(node).describe();
      if (what == "any quantity") return "a quantity";
      return (what.find_first_of("aeiou") == 0 ? "an " : "a ") + what;
    }
    case Type::Gauge:
      return "a gauge";
    case Type::Date:
      return "a date";
    case Type::Word:
      return "a word";
    case Type::Text:
      return "a text";
    case Type::YesNo:
      return "yes or no";
    case Type::Texts:
    case Type::Items:
      return "a list";
    case Type::Band:
      return "a range";
    case Type::Record:
      break;
  }
  return "an earlier or active order";
}

std::string ExpressionLowering::describe(const Operand& operand) const {
  if (operand.is_node()) return describe(operand.node);
  return operand.kind == Operand::Kind::Quoted ? "a text" : "a word";
}

NodeId ExpressionLowering::wrong_type(const Operand& operand, std::string_view needed,
                                      std::string help) {
  if (operand.failed()) return kNoNode;
  if (operand.kind == Operand::Kind::Bare) return unknown_name(operand);
  Mistake mistake{Code::R0225,
                  operand.expr->span,
                  describe(operand) + " stands where " + std::string(needed) + " is needed",
                  {},
                  std::move(help)};
  const Type type = operand.is_node() ? w_.nodes.type(operand.node) : Type::Text;
  if (type == Type::Truth) mistake.code = Code::R0224;
  if (type == Type::Texts || type == Type::Items) {
    mistake.code = Code::R0232;
    mistake.help = "write `any of` before a list, or `(any of LIST where ...)`";
  }
  report(std::move(mistake));
  return kNoNode;
}

NodeId ExpressionLowering::need(const Operand& operand, Type type, std::string_view what) {
  if (operand.is_node() && w_.nodes.type(operand.node) == type) return operand.node;
  return wrong_type(operand, what);
}

NodeId ExpressionLowering::need_quantity(const Operand& operand) {
  const bool gauge = operand.is_node() && w_.nodes.type(operand.node) == Type::Gauge;
  if (gauge) {
    return wrong_type(operand, "a quantity",
                      "a gauge is no amount; compare it with `thinner than` or `wider than`");
  }
  return need(operand, Type::Quantity, "a quantity");
}

NodeId ExpressionLowering::need_quantity(const Operand& operand, const DimensionSet& dimensions,
                                         std::string_view what) {
  const NodeId node = need_quantity(operand);
  if (node == kNoNode || w_.nodes.dimensions(node).meets(dimensions)) return node;
  std::string help;
  if (dimensions.is_single()) {
    const std::string example = example_of(dimensions.front());
    if (!example.empty()) help = "write " + std::string(what) + ", such as `" + example + "`";
  }
  report({Code::R0222,
          operand.expr->span,
          describe(node) + " stands where " + std::string(what) + " is needed",
          {},
          std::move(help)});
  return kNoNode;
}

NodeId ExpressionLowering::as_body_mass(NodeId node) {
  const engine::Node& n = w_.nodes[node];
  if (n.op == Op::Constant) {
    const engine::Value value = w_.program->constants[n.a];
    return w_.nodes.quantity(value.number, dim::kBodyMass, value.text, n.percent);
  }
  const NodeId one = w_.nodes.quantity(1, dim::kBodyMass / dim::kMass, {});
  return w_.nodes.add({Op::Multiply, Type::Quantity, 0, node, one}, dim::kBodyMass);
}

bool ExpressionLowering::meet(NodeId& left, NodeId& right) {
  const DimensionSet& a = w_.nodes.dimensions(left);
  const DimensionSet& b = w_.nodes.dimensions(right);
  if (a.meets(b)) return true;
  if (a == DimensionSet(dim::kBodyMass) && b == DimensionSet(dim::kMass)) {
    right = as_body_mass(right);
    return true;
  }
  if (b == DimensionSet(dim::kBodyMass) && a == DimensionSet(dim::kMass)) {
    left = as_body_mass(left);
    return true;
  }
  return false;
}

NodeId ExpressionLowering::unlike_quantities(Code code, std::string_view verb, const Expr& expr,
                                             NodeId left, NodeId right) {
  const DimensionSet& a = w_.nodes.dimensions(left);
  const DimensionSet& b = w_.nodes.dimensions(right);
  Mistake mistake{code,
                  place(expr),
                  "cannot " + std::string(verb) + " " + a.describe() + " with " + b.describe(),
                  {{expr.kids[0]->span, a.describe()}, {expr.kids[1]->span, b.describe()}},
                  ""};
  const std::string example = a.is_single() ? example_of(a.front()) : std::string();
  if (!example.empty()) mistake.help = "write a " + a.describe() + ", such as `" + example + "`";
  const DimensionSet ratio = b / a;
  if (!ratio.is_any() && ratio == DimensionSet(dim::kMassPerVolume)) {
    mistake.help += ", or divide the right side by a strength";
  }
  if (ratio.meets(dim::kVolume / dim::kMass) && !ratio.is_any()) {
    mistake.help += mistake.help.empty() ? "" : ", or ";
    mistake.help += "multiply the right side by a strength";
  }
  if (a == DimensionSet::strength() && w_.nodes[right].percent) {
    mistake.help = "a percentage is a share here: write 20 % w/v as `200 mg/mL`";
  }
  report(std::move(mistake));
  return kNoNode;
}

}  // namespace meniscus::grammar
