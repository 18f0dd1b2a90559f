// Which kind of expression is lowered where; logic and asking.
#include "grammar/lower/expression.hpp"

#include <utility>

namespace meniscus::grammar {

Operand ExpressionLowering::of(const Expr& expr, NodeId node) const {
  return {node == kNoNode ? Operand::Kind::Failed : Operand::Kind::Node, node, &expr};
}

Operand ExpressionLowering::operand(const Expr& expr) {
  // Chains of lets nest without the parser's seeing it, so the limit is checked here too.
  const std::uint32_t limit = 4 * w_.options.max_depth;
  if (depth_ >= limit) {
    report(
        {Code::R0118, expr.span, "this is nested too deeply", {}, "name a part of it with `let`"});
    return {Operand::Kind::Failed, kNoNode, &expr};
  }
  ++depth_;
  Operand result = lower(expr);
  --depth_;
  return result;
}

Operand ExpressionLowering::lower(const Expr& expr) {
  switch (expr.kind) {
    case Kind::Quantity:
    case Kind::Date:
    case Kind::String:
      return literal(expr);
    case Kind::Path:
      return path(expr);
    case Kind::EngineValue:
      return engine_value(expr);
    case Kind::Today:
      return of(expr, w_.nodes.add({Op::Today, Type::Date}));
    case Kind::PlannedDay:
      return of(expr, w_.nodes.add({Op::PlannedDay, Type::Date}));
    case Kind::AsWritten:
      return as_written(expr);
    case Kind::Negate:
    case Kind::Multiply:
    case Kind::Divide:
      return arithmetic(expr);
    case Kind::Add:
    case Kind::Subtract:
      return sum(expr);
    case Kind::RoundNearest:
    case Kind::RoundUp:
    case Kind::RoundDown:
      return rounded(expr);
    case Kind::DaysSince:
    case Kind::DaysBetween:
    case Kind::TimeSince:
      return dates(expr);
    case Kind::After:
      return after(expr);
    case Kind::KindOf:
    case Kind::RegionOf:
      return word_of(expr);
    case Kind::OrElse:
      return or_else(expr);
    case Kind::IfThen:
      return choice(expr);
    case Kind::Less:
    case Kind::LessEqual:
    case Kind::Greater:
    case Kind::GreaterEqual:
    case Kind::Is:
    case Kind::IsNot:
    case Kind::IsOneOf:
    case Kind::IsNotOneOf:
    case Kind::IsYes:
    case Kind::IsNo:
    case Kind::IsIn:
    case Kind::IsNotIn:
    case Kind::IsBefore:
    case Kind::IsAfter:
    case Kind::Between:
    case Kind::DiffersBy:
    case Kind::MultipleOf:
    case Kind::NotMultipleOf:
    case Kind::ThinnerThan:
    case Kind::WiderThan:
    case Kind::Contains:
    case Kind::Matches:
    case Kind::Includes:
      return comparison(expr);
    case Kind::IsGiven:
    case Kind::IsMissing:
    case Kind::IsNone:
      return asking(expr);
    case Kind::Not:
    case Kind::And:
    case Kind::Or:
      return logic(expr);
    case Kind::LookUp:
    case Kind::LookUpEvery:
    case Kind::AnyRow:
    case Kind::AnyOfWhere:
    case Kind::AnyOf:
    case Kind::Aggregate:
      return query(expr);
    case Kind::Error:
      break;
  }
  return {Operand::Kind::Failed, kNoNode, &expr};
}

NodeId ExpressionLowering::condition(const Expr& expr) {
  const Operand result = operand(expr);
  if (result.failed()) return kNoNode;
  if (result.is_node() && w_.nodes.type(result.node) == Type::Truth) return result.node;
  Mistake mistake{Code::R0223,
                  expr.span,
                  {},
                  {},
                  "write what it is compared with, as in `site is "
                  "abdomen` or `volume > 2 mL`"};
  if (result.is_node()) {
    mistake.message = describe(result.node) + " stands where a condition is needed";
    if (w_.nodes.type(result.node) == Type::YesNo) mistake.help = "write `is yes` after it";
  } else {
    mistake.message = "the word " + quoted(expr.text) + " alone is no condition";
  }
  report(std::move(mistake));
  return kNoNode;
}

NodeId ExpressionLowering::settle(const Operand& operand) {
  switch (operand.kind) {
    case Operand::Kind::Failed:
      return kNoNode;
    case Operand::Kind::Bare:
      return unknown_name(operand);
    case Operand::Kind::Quoted:
      return text_constant(operand);
    case Operand::Kind::Node:
      break;
  }
  return operand.node;
}

NodeId ExpressionLowering::named(const Expr& expr) { return settle(operand(expr)); }

NodeId ExpressionLowering::value(const Expr& expr) {
  const Operand result = operand(expr);
  const NodeId node = settle(result);
  if (node == kNoNode || w_.nodes.type(node) != Type::Truth) return node;
  report({Code::R0224, expr.span, "a condition stands where a value is needed", {}, ""});
  return kNoNode;
}

NodeId ExpressionLowering::shown(const Expr& expr) {
  const NodeId node = settle(operand(expr));
  if (node == kNoNode) return node;
  const Type type = w_.nodes.type(node);
  if (type != Type::Truth && type != Type::Items && type != Type::Record) return node;
  std::string help = "show a value";
  if (type == Type::Record) help = "show one of its fields, as in `{" + expr.text + ".when}`";
  if (type == Type::Items) help = "a list of parts has no short form; name a field";
  report({Code::R0233, expr.span, describe(node) + " cannot be shown in a text", {}, help});
  return kNoNode;
}

Operand ExpressionLowering::logic(const Expr& expr) {
  const Op op = expr.kind == Kind::And ? Op::And : Op::Or;
  NodeId result = kNoNode;
  bool good = true;
  for (const ExprPtr& kid : expr.kids) {
    const NodeId node = condition(*kid);
    good = good && node != kNoNode;
    if (!good) continue;
    if (expr.kind == Kind::Not) {
      result = w_.nodes.truth(Op::Not, node);
    } else {
      result = result == kNoNode ? node : w_.nodes.truth(op, result, node);
    }
  }
  return of(expr, good ? result : kNoNode);
}

Operand ExpressionLowering::asking(const Expr& expr) {
  const NodeId x = value(*expr.kids[0]);
  if (x == kNoNode) return of(expr, kNoNode);
  if (expr.kind == Kind::IsMissing) return of(expr, w_.nodes.truth(Op::IsMissing, x));
  if (expr.kind == Kind::IsNone) return of(expr, w_.nodes.truth(Op::IsNone, x));
  const Op op = w_.nodes[x].op;
  const std::uint32_t plain = op == Op::Field || op == Op::RecordField ? 1 : 0;
  return of(expr, w_.nodes.truth(Op::IsGiven, x, kNoNode, kNoNode, plain));
}

Operand ExpressionLowering::engine_value(const Expr& expr) {
  for (const engine::EngineValueInfo& info : engine::engine_values()) {
    if (info.name != expr.text) continue;
    NodeSpec spec{Op::Engine, info.type, static_cast<std::uint32_t>(info.id)};
    spec.percent = info.id == engine::EngineValue::DeliveredDoseError;
    const bool weekly = info.id == engine::EngineValue::WeeklyDose;
    return of(expr,
              w_.nodes.add(spec, weekly ? DimensionSet::amount() : DimensionSet(info.dimension)));
  }
  report({Code::R0201, expr.span, "unknown value " + quoted(expr.text), {}, ""});
  return of(expr, kNoNode);
}

}  // namespace meniscus::grammar
