// Which kind of expression is lowered where; logic and asking.
#include "grammar/lower/expression.hpp"

#include <array>
#include <cstddef>
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
  // A name stands for what it was given; that has its own place.
  const bool named = expr.kind == Kind::Path &&
                     (find_let(expr.text) != nullptr || find_define(expr.text).has_value());
  if (result.is_node() && !named) {
    w_.program->spellings.push_back({result.node, scope_.source, expr.span});
  }
  return result;
}

struct ExpressionLowering::Ways {
  struct Way {
    Kind kind;
    Operand (ExpressionLowering::*lower)(const Expr&);
  };
  static constexpr std::size_t kKinds = static_cast<std::size_t>(Kind::Error) + 1;

  // In the order of ExprKind, so that a kind is its own index.
  static constexpr std::array<Way, kKinds> kAll{{
      {Kind::Quantity, &ExpressionLowering::literal},
      {Kind::Date, &ExpressionLowering::literal},
      {Kind::String, &ExpressionLowering::literal},
      {Kind::Path, &ExpressionLowering::path},
      {Kind::EngineValue, &ExpressionLowering::engine_value},
      {Kind::Today, &ExpressionLowering::day},
      {Kind::PlannedDay, &ExpressionLowering::day},
      {Kind::AsWritten, &ExpressionLowering::as_written},
      {Kind::Negate, &ExpressionLowering::arithmetic},
      {Kind::Add, &ExpressionLowering::sum},
      {Kind::Subtract, &ExpressionLowering::sum},
      {Kind::Multiply, &ExpressionLowering::arithmetic},
      {Kind::Divide, &ExpressionLowering::arithmetic},
      {Kind::RoundNearest, &ExpressionLowering::rounded},
      {Kind::RoundUp, &ExpressionLowering::rounded},
      {Kind::RoundDown, &ExpressionLowering::rounded},
      {Kind::DaysSince, &ExpressionLowering::dates},
      {Kind::DaysBetween, &ExpressionLowering::dates},
      {Kind::TimeSince, &ExpressionLowering::dates},
      {Kind::TimeBetween, &ExpressionLowering::dates},
      {Kind::After, &ExpressionLowering::after},
      {Kind::KindOf, &ExpressionLowering::word_of},
      {Kind::RegionOf, &ExpressionLowering::word_of},
      {Kind::OrElse, &ExpressionLowering::or_else},
      {Kind::IfThen, &ExpressionLowering::choice},
      {Kind::Less, &ExpressionLowering::comparison},
      {Kind::LessEqual, &ExpressionLowering::comparison},
      {Kind::Greater, &ExpressionLowering::comparison},
      {Kind::GreaterEqual, &ExpressionLowering::comparison},
      {Kind::Is, &ExpressionLowering::comparison},
      {Kind::IsNot, &ExpressionLowering::comparison},
      {Kind::IsOneOf, &ExpressionLowering::comparison},
      {Kind::IsNotOneOf, &ExpressionLowering::comparison},
      {Kind::IsGiven, &ExpressionLowering::asking},
      {Kind::IsMissing, &ExpressionLowering::asking},
      {Kind::IsNone, &ExpressionLowering::asking},
      {Kind::IsYes, &ExpressionLowering::comparison},
      {Kind::IsNo, &ExpressionLowering::comparison},
      {Kind::IsIn, &ExpressionLowering::comparison},
      {Kind::IsNotIn, &ExpressionLowering::comparison},
      {Kind::IsBefore, &ExpressionLowering::comparison},
      {Kind::IsAfter, &ExpressionLowering::comparison},
      {Kind::Between, &ExpressionLowering::comparison},
      {Kind::DiffersBy, &ExpressionLowering::comparison},
      {Kind::MultipleOf, &ExpressionLowering::comparison},
      {Kind::NotMultipleOf, &ExpressionLowering::comparison},
      {Kind::ThinnerThan, &ExpressionLowering::comparison},
      {Kind::WiderThan, &ExpressionLowering::comparison},
      {Kind::Contains, &ExpressionLowering::comparison},
      {Kind::Matches, &ExpressionLowering::comparison},
      {Kind::Includes, &ExpressionLowering::comparison},
      {Kind::Not, &ExpressionLowering::logic},
      {Kind::And, &ExpressionLowering::logic},
      {Kind::Or, &ExpressionLowering::logic},
      {Kind::LookUp, &ExpressionLowering::query},
      {Kind::LookUpEvery, &ExpressionLowering::query},
      {Kind::AnyRow, &ExpressionLowering::query},
      {Kind::AnyOfWhere, &ExpressionLowering::query},
      {Kind::AnyOf, &ExpressionLowering::query},
      {Kind::Aggregate, &ExpressionLowering::query},
      {Kind::Error, &ExpressionLowering::unread},
  }};

  static constexpr bool complete() {
    for (std::size_t i = 0; i < kKinds; ++i) {
      if (static_cast<std::size_t>(kAll[i].kind) != i)
        return false;  // also one left out at the end
    }
    return true;
  }
};

Operand ExpressionLowering::lower(const Expr& expr) {
  static_assert(Ways::complete(), "every kind of expression has its way, in the enum's order");
  return (this->*Ways::kAll[static_cast<std::size_t>(expr.kind)].lower)(expr);
}

Operand ExpressionLowering::unread(const Expr& expr) {
  return {Operand::Kind::Failed, kNoNode, &expr};
}

Operand ExpressionLowering::day(const Expr& expr) {
  const Op op = expr.kind == Kind::Today ? Op::Today : Op::PlannedDay;
  return of(expr, w_.nodes.add({op, Type::Date}));
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
    mistake.help += "; between the words after `one of` stands `,`";
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
  const NodeId asked = value(*expr.kids[0]);
  if (asked == kNoNode) return of(expr, kNoNode);
  const NodeId x = field_of(*expr.kids[0], asked);
  if (expr.kind == Kind::IsMissing) return of(expr, w_.nodes.truth(Op::IsMissing, x));
  if (expr.kind == Kind::IsNone) return of(expr, w_.nodes.truth(Op::IsNone, x));
  const Op op = w_.nodes[x].op;
  const bool part = op == Op::ItemPart || op == Op::PreviousPart;
  const std::uint32_t plain = op == Op::Field || op == Op::RecordField || part ? 1 : 0;
  return of(expr, w_.nodes.truth(Op::IsGiven, x, kNoNode, kNoNode, plain));
}

Operand ExpressionLowering::engine_value(const Expr& expr) {
  for (const engine::EngineValueInfo& info : engine::engine_values()) {
    if (info.name != expr.text) continue;
    NodeSpec spec{Op::Engine, info.type, static_cast<std::uint32_t>(info.id)};
    // Of what is a plain number, all but the count of doses is a share.
    spec.percent = info.dimension == engine::dim::kNumber && info.type == engine::Type::Quantity &&
                   info.id != engine::EngineValue::PlannedDoses &&
                   info.id != engine::EngineValue::WeeklyDose;
    const bool weekly = info.id == engine::EngineValue::WeeklyDose;
    return of(expr,
              w_.nodes.add(spec, weekly ? DimensionSet::amount() : DimensionSet(info.dimension)));
  }
  report({Code::R0201, expr.span, "unknown value " + quoted(expr.text), {}, ""});
  return of(expr, kNoNode);
}

}  // namespace meniscus::grammar
