// Arithmetic, dates, kinds and regions, and choice.
#include <utility>

#include "grammar/lower/expression.hpp"

namespace meniscus::grammar {

namespace dim = engine::dim;

Operand ExpressionLowering::arithmetic(const Expr& expr) {
  const NodeId x = need_quantity(operand(*expr.kids[0]));
  if (expr.kind == Kind::Negate) {
    if (x == kNoNode) return of(expr, kNoNode);
    NodeSpec spec{Op::Negate, Type::Quantity, 0, x};
    spec.percent = w_.nodes[x].percent;
    const DimensionSet same = w_.nodes.dimensions(x);
    return of(expr, w_.nodes.add(spec, same));
  }
  const NodeId y = need_quantity(operand(*expr.kids[1]));
  if (x == kNoNode || y == kNoNode) return of(expr, kNoNode);
  const bool times = expr.kind == Kind::Multiply;
  const DimensionSet& a = w_.nodes.dimensions(x);
  const DimensionSet& b = w_.nodes.dimensions(y);
  const DimensionSet result = times ? a * b : a / b;
  return of(expr,
            w_.nodes.add({times ? Op::Multiply : Op::Divide, Type::Quantity, 0, x, y}, result));
}

Operand ExpressionLowering::sum(const Expr& expr) {
  const Operand left = operand(*expr.kids[0]);
  const Operand right = operand(*expr.kids[1]);
  const bool date_left = left.is_node() && w_.nodes.type(left.node) == Type::Date;
  const bool date_right = right.is_node() && w_.nodes.type(right.node) == Type::Date;
  if (date_left || date_right) {
    const bool both = date_left && date_right;
    report({Code::R0227,
            place(expr),
            both ? "dates are not taken from one another" : "a date is not added to or taken from",
            {},
            both ? "write `days from A to B`" : "write `DURATION after DATE`"});
    return of(expr, kNoNode);
  }
  NodeId x = need_quantity(left);
  NodeId y = need_quantity(right);
  if (x == kNoNode || y == kNoNode) return of(expr, kNoNode);
  const bool plus = expr.kind == Kind::Add;
  if (!meet(x, y)) {
    return of(expr, unlike_quantities(Code::R0221, plus ? "add" : "subtract", expr, x, y));
  }
  NodeSpec spec{plus ? Op::Add : Op::Subtract, Type::Quantity, 0, x, y};
  spec.percent = w_.nodes[x].percent && w_.nodes[y].percent;
  const DimensionSet both = DimensionSet::both(w_.nodes.dimensions(x), w_.nodes.dimensions(y));
  return of(expr, w_.nodes.add(spec, both));
}

Operand ExpressionLowering::rounded(const Expr& expr) {
  NodeId x = need_quantity(operand(*expr.kids[0]));
  NodeId step = need_quantity(operand(*expr.kids[1]));
  if (x == kNoNode || step == kNoNode) return of(expr, kNoNode);
  if (!meet(x, step)) return of(expr, unlike_quantities(Code::R0220, "round", expr, x, step));
  Op op = Op::RoundNearest;
  if (expr.kind == Kind::RoundUp) op = Op::RoundUp;
  if (expr.kind == Kind::RoundDown) op = Op::RoundDown;
  const DimensionSet both = DimensionSet::both(w_.nodes.dimensions(x), w_.nodes.dimensions(step));
  return of(expr, w_.nodes.add({op, Type::Quantity, 0, x, step}, both));
}

Operand ExpressionLowering::dates(const Expr& expr) {
  const NodeId x = need(operand(*expr.kids[0]), Type::Date, "a date");
  NodeId y = kNoNode;
  if (expr.kind == Kind::DaysBetween || expr.kind == Kind::TimeBetween) {
    y = need(operand(*expr.kids[1]), Type::Date, "a date");
    if (y == kNoNode) return of(expr, kNoNode);
  }
  if (x == kNoNode) return of(expr, kNoNode);
  if (expr.kind == Kind::TimeSince || expr.kind == Kind::TimeBetween) {
    return of(expr, w_.nodes.add({Op::TimeSince, Type::Quantity, 0, x, y}, dim::kTime));
  }
  if (expr.kind == Kind::DaysSince) y = w_.nodes.add({Op::Today, Type::Date});
  return of(expr, w_.nodes.add({Op::DaysBetween, Type::Quantity, 0, x, y}, dim::kTime));
}

Operand ExpressionLowering::after(const Expr& expr) {
  const NodeId x = need_quantity(operand(*expr.kids[0]), dim::kTime, "a time");
  const NodeId y = need(operand(*expr.kids[1]), Type::Date, "a date");
  if (x == kNoNode || y == kNoNode) return of(expr, kNoNode);
  return of(expr, w_.nodes.add({Op::DateAfter, Type::Date, 0, x, y}));
}

Operand ExpressionLowering::word_of(const Expr& expr) {
  const Operand subject = operand(*expr.kids[0]);
  if (expr.kind == Kind::KindOf) {
    const NodeId x = need_quantity(subject, DimensionSet::amount(), "an amount");
    if (x == kNoNode) return of(expr, kNoNode);
    return of(expr, w_.nodes.add({Op::KindOf, Type::Word, 0, x}));
  }
  const NodeId x = subject.is_word() ? word_constant(subject, field_words(engine::FieldId::Site))
                                     : need(subject, Type::Word, "a site");
  if (x == kNoNode) return of(expr, kNoNode);
  return of(expr, w_.nodes.add({Op::RegionOf, Type::Word, 0, x}));
}

Operand ExpressionLowering::choice(const Expr& expr) {
  const NodeId when = condition(*expr.kids[0]);
  const Operand left = operand(*expr.kids[1]);
  const Operand right = operand(*expr.kids[2]);
  if (when == kNoNode) return of(expr, kNoNode);
  return joined(expr, Op::Choose, when, left, right);
}

Operand ExpressionLowering::or_else(const Expr& expr) {
  const Operand left = operand(*expr.kids[0]);
  const Operand right = operand(*expr.kids[1]);
  return joined(expr, Op::OrElse, kNoNode, left, right);
}

Operand ExpressionLowering::word_beside(const Operand& word, const Operand& other) {
  if (!word.is_word()) return word;
  if (!other.is_node()) return of(*word.expr, word_constant(word, WordSource{}));
  const Type type = w_.nodes.type(other.node);
  if (type == Type::Text) return of(*word.expr, text_constant(word));
  if (type != Type::Word) return word;
  return of(*word.expr, word_constant(word, word_source(other.node)));
}

Operand ExpressionLowering::joined(const Expr& expr, Op op, NodeId when, Operand left,
                                   Operand right) {
  if (left.failed() || right.failed()) return of(expr, kNoNode);
  left = word_beside(left, right);
  right = word_beside(right, left);
  NodeId x = settle(left);
  NodeId y = settle(right);
  if (x == kNoNode || y == kNoNode) return of(expr, kNoNode);
  const Type type = w_.nodes.type(x);
  const bool same = type == w_.nodes.type(y) && type != Type::Truth;
  if (!same || (type == Type::Quantity && !meet(x, y))) {
    report({Code::R0231,
            place(expr),
            "one branch is " + describe(x) + ", the other " + describe(y),
            {},
            ""});
    return of(expr, kNoNode);
  }
  NodeSpec spec{op, type, 0};
  spec.percent = w_.nodes[x].percent && w_.nodes[y].percent;
  spec.x = op == Op::Choose ? when : x;
  spec.y = op == Op::Choose ? x : y;
  spec.z = op == Op::Choose ? y : kNoNode;
  const DimensionSet either = DimensionSet::either(w_.nodes.dimensions(x), w_.nodes.dimensions(y));
  return of(expr, w_.nodes.add(spec, type == Type::Quantity ? either : DimensionSet()));
}

}  // namespace meniscus::grammar
