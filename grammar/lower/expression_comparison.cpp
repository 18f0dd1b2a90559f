// Comparisons.  `any of LIST` on the left makes one over the list's items.
#include <utility>

#include "engine/quantity/quantity.hpp"
#include "grammar/lower/expression.hpp"

namespace meniscus::grammar {

namespace dim = engine::dim;

namespace {

constexpr std::string_view kGaugeHelp =
    "a larger gauge is a thinner needle; write `thinner than 21 G` or `wider than 21 G`";

}  // namespace

Operand ExpressionLowering::comparison(const Expr& expr) {
  const Expr& subject = *expr.kids[0];
  if (subject.kind != Kind::AnyOf) return of(expr, compare(expr, operand(subject)));
  ItemScope item;
  const NodeId items = list(*subject.kids[0], item);
  if (items == kNoNode) return of(expr, kNoNode);
  if (item.self == Type::Items) {
    report({Code::R0232,
            subject.span,
            "the items of this list have parts",
            {},
            "write `(any of LIST where each.PART ...)`"});
    return of(expr, kNoNode);
  }
  const Scope outer = scope_;
  scope_.item = item;
  NodeSpec self{Op::ItemSelf, item.self};
  self.origin = static_cast<std::uint32_t>(index(item.field));
  const NodeId holds = compare(expr, of(subject, w_.nodes.add(self)));
  scope_ = outer;
  return of(expr, holds == kNoNode ? kNoNode : w_.nodes.truth(Op::AnyItem, items, holds));
}

NodeId ExpressionLowering::negated(NodeId node) {
  return node == kNoNode ? node : w_.nodes.truth(Op::Not, node);
}

NodeId ExpressionLowering::compare(const Expr& expr, const Operand& left) {
  using Lower = NodeId (ExpressionLowering::*)(const Expr&, const Operand&);
  struct Row {
    ExprKind kind;
    ExprKind negated;  // the same one for a comparison without a negative form
    Lower lower;
  };
  using E = ExpressionLowering;
  static constexpr Row kRows[] = {
      {Kind::Is, Kind::Is, &E::equals},
      {Kind::IsNot, Kind::IsNot, &E::equals},
      {Kind::IsOneOf, Kind::IsNotOneOf, &E::one_of},
      {Kind::IsYes, Kind::IsYes, &E::yes_no},
      {Kind::IsNo, Kind::IsNo, &E::yes_no},
      {Kind::IsIn, Kind::IsNotIn, &E::site_in},
      {Kind::IsBefore, Kind::IsBefore, &E::by_date},
      {Kind::IsAfter, Kind::IsAfter, &E::by_date},
      {Kind::Between, Kind::Between, &E::between},
      {Kind::DiffersBy, Kind::DiffersBy, &E::differs},
      {Kind::MultipleOf, Kind::NotMultipleOf, &E::multiple_of},
      {Kind::ThinnerThan, Kind::ThinnerThan, &E::gauges},
      {Kind::WiderThan, Kind::WiderThan, &E::gauges},
      {Kind::Contains, Kind::Contains, &E::text_test},
      {Kind::Matches, Kind::Matches, &E::text_test},
      {Kind::Includes, Kind::Includes, &E::includes},
  };
  for (const Row& row : kRows) {
    if (row.kind == expr.kind) return (this->*row.lower)(expr, left);
    if (row.negated == expr.kind) return negated((this->*row.lower)(expr, left));
  }
  return ordered(expr, left);
}

NodeId ExpressionLowering::equals(const Expr& expr, const Operand& left) {
  const Op op = expr.kind == Kind::IsNot ? Op::NotEqual : Op::Equal;
  return equality(expr, op, left, operand(*expr.kids[1]));
}

NodeId ExpressionLowering::ordered(const Expr& expr, const Operand& left) {
  const Operand right = operand(*expr.kids[1]);
  const auto type_is = [&](const Operand& side, Type type) {
    return side.is_node() && w_.nodes.type(side.node) == type;
  };
  if (type_is(left, Type::Gauge) || type_is(right, Type::Gauge)) {
    report({Code::R0226,
            place(expr),
            "a sign says nothing about a gauge",
            {},
            std::string(kGaugeHelp)});
    return kNoNode;
  }
  Op op = Op::Less;
  if (expr.kind == Kind::LessEqual) op = Op::LessEqual;
  if (expr.kind == Kind::Greater) op = Op::Greater;
  if (expr.kind == Kind::GreaterEqual) op = Op::GreaterEqual;
  if (type_is(left, Type::Date) && type_is(right, Type::Date)) {
    return w_.nodes.truth(op, left.node, right.node);
  }
  NodeId x = need_quantity(left);
  NodeId y = need_quantity(right);
  if (x == kNoNode || y == kNoNode) return kNoNode;
  if (!meet(x, y)) return unlike_quantities(Code::R0220, "compare", expr, x, y);
  return w_.nodes.truth(op, x, y);
}

NodeId ExpressionLowering::equality(const Expr& expr, Op op, const Operand& left,
                                    const Operand& right) {
  if (left.failed() || right.failed()) return kNoNode;
  if (left.is_word() && right.is_word()) {
    return unknown_name(left.kind == Operand::Kind::Bare ? left : right);
  }
  if (left.is_word()) return equality_with_word(expr, op, right, left);
  if (right.is_word()) return equality_with_word(expr, op, left, right);
  NodeId x = left.node;
  NodeId y = right.node;
  if (!comparable(expr, x, y)) return kNoNode;
  const Type type = w_.nodes.type(x);
  if (type == Type::Word && (both_code_and_name(right, x) || both_code_and_name(left, y))) {
    return kNoNode;
  }
  if (type == Type::Quantity && !meet(x, y)) {
    return unlike_quantities(Code::R0220, "compare", expr, x, y);
  }
  return w_.nodes.truth(op, x, y);
}

bool ExpressionLowering::comparable(const Expr& expr, NodeId left, NodeId right) {
  const Type x = w_.nodes.type(left);
  const Type y = w_.nodes.type(right);
  const bool single = x == Type::Quantity || x == Type::Gauge || x == Type::Date ||
                      x == Type::Word || x == Type::Text || x == Type::YesNo;
  if (x == y && single) return true;
  Mistake mistake{Code::R0228,
                  place(expr),
                  "cannot compare " + describe(left) + " with " + describe(right),
                  {},
                  ""};
  const auto either = [&](Type type) { return x == type || y == type; };
  if (either(Type::Texts) || either(Type::Items)) {
    mistake.code = Code::R0232;
    mistake.help = "write `any of` before a list";
  } else if (either(Type::Band)) {
    mistake.help = "write `RANGE includes VALUE`";
  } else if (either(Type::Gauge)) {
    mistake.help = "write the gauge with its unit, as in `21 G`";
  } else if (either(Type::Text) && either(Type::Word)) {
    mistake.help = "write `TEXT contains WORD`";
  } else if (either(Type::Truth)) {
    mistake.help = "join conditions with `and`, `or` and `not`";
  } else if (either(Type::Record)) {
    mistake.help = "compare one of its fields, as in `NAME.dose`";
  }
  report(std::move(mistake));
  return false;
}

NodeId ExpressionLowering::equality_with_word(const Expr& expr, Op op, const Operand& known,
                                              const Operand& word) {
  const Type type = w_.nodes.type(known.node);
  NodeId constant = kNoNode;
  if (type == Type::Word) {
    constant = word_constant(word, word_source(known.node));
  } else if (type == Type::Text) {
    constant = text_constant(word);
  } else if (word.kind == Operand::Kind::Bare && type != Type::Texts && type != Type::Items) {
    return unknown_name(word);
  } else {
    return comparable(expr, known.node, text_constant(word)) ? known.node : kNoNode;
  }
  return constant == kNoNode ? kNoNode : w_.nodes.truth(op, known.node, constant);
}

NodeId ExpressionLowering::one_of(const Expr& expr, const Operand& left) {
  if (left.failed()) return kNoNode;
  std::vector<NodeId> choices;
  bool good = true;
  for (std::size_t i = 1; i < expr.kids.size(); ++i) {
    const NodeId equal = equality(expr, Op::Equal, left, operand(*expr.kids[i]));
    if (equal == kNoNode) {
      good = false;
      continue;
    }
    choices.push_back(w_.nodes[equal].y);
  }
  if (!good || !left.is_node()) return kNoNode;
  auto& lists = w_.program->lists;
  std::size_t at = 0;
  while (at < lists.size() && lists[at] != choices)
    ++at;
  if (at == lists.size()) lists.push_back(std::move(choices));
  return w_.nodes.truth(Op::IsOneOf, left.node, kNoNode, kNoNode, static_cast<std::uint32_t>(at));
}

NodeId ExpressionLowering::yes_no(const Expr& expr, const Operand& left) {
  if (left.is_node() && w_.nodes.type(left.node) == Type::Truth) {
    report({Code::R0224,
            expr.span,
            "a condition is not compared with yes or no",
            {},
            "write the condition alone, or `not` before it"});
    return kNoNode;
  }
  const NodeId x = need(left, Type::YesNo, "yes or no");
  if (x == kNoNode) return kNoNode;
  const engine::Value answer = engine::Value::yes_no(expr.kind == Kind::IsYes);
  return w_.nodes.truth(Op::Equal, x, w_.nodes.constant(Type::YesNo, answer));
}

NodeId ExpressionLowering::site_in(const Expr& expr, const Operand& left) {
  const Operand right = operand(*expr.kids[1]);
  const auto site = [&](const Operand& side) {
    return side.is_word() ? word_constant(side, field_words(engine::FieldId::Site))
                          : need(side, Type::Word, "a site");
  };
  const NodeId x = site(left);
  const NodeId y = site(right);
  if (x == kNoNode || y == kNoNode) return kNoNode;
  if (right.is_node() && both_code_and_name(right, x)) return kNoNode;
  return w_.nodes.truth(Op::SiteIn, x, y);
}

NodeId ExpressionLowering::by_date(const Expr& expr, const Operand& left) {
  const NodeId x = need(left, Type::Date, "a date");
  const NodeId y = need(operand(*expr.kids[1]), Type::Date, "a date");
  if (x == kNoNode || y == kNoNode) return kNoNode;
  return w_.nodes.truth(expr.kind == Kind::IsBefore ? Op::Less : Op::Greater, x, y);
}

NodeId ExpressionLowering::between(const Expr& expr, const Operand& left) {
  const Operand from = operand(*expr.kids[1]);
  const Operand to = operand(*expr.kids[2]);
  if (left.is_node() && w_.nodes.type(left.node) == Type::Date) {
    const NodeId y = need(from, Type::Date, "a date");
    const NodeId z = need(to, Type::Date, "a date");
    if (y == kNoNode || z == kNoNode) return kNoNode;
    return w_.nodes.truth(Op::Between, left.node, y, z);
  }
  if (left.is_node() && w_.nodes.type(left.node) == Type::Gauge) {
    report({Code::R0226,
            place(expr),
            "`between` says nothing about a gauge",
            {},
            std::string(kGaugeHelp)});
    return kNoNode;
  }
  NodeId x = need_quantity(left);
  NodeId y = need_quantity(from);
  NodeId z = need_quantity(to);
  if (x == kNoNode || y == kNoNode || z == kNoNode) return kNoNode;
  if (!meet(x, y)) return unlike_quantities(Code::R0220, "compare", expr, x, y);
  if (!meet(x, z)) return unlike_quantities(Code::R0220, "compare", expr, x, z);
  return w_.nodes.truth(Op::Between, x, y, z);
}

NodeId ExpressionLowering::differs(const Expr& expr, const Operand& left) {
  NodeId x = need_quantity(left);
  NodeId y = need_quantity(operand(*expr.kids[1]));
  NodeId by = need_quantity(operand(*expr.kids[2]));
  if (x == kNoNode || y == kNoNode || by == kNoNode) return kNoNode;
  if (!meet(x, y)) return unlike_quantities(Code::R0220, "compare", expr, x, y);
  const DimensionSet& room = w_.nodes.dimensions(by);
  const bool number = room == DimensionSet();
  const bool of_numbers = w_.nodes.dimensions(x) == DimensionSet();
  if (number && !of_numbers && !w_.nodes[by].percent && w_.nodes[by].op == Op::Constant &&
      w_.program->constants[w_.nodes[by].a].number >= 1) {
    // As a share, 5 would be 500 %, and the clause would never speak.
    const std::string share = engine::format_number(w_.program->constants[w_.nodes[by].a].number);
    report({Code::R0222,
            expr.kids[2]->span,
            "a number stands where a share or " + describe(x) + " is needed",
            {},
            "write `" + share + " %` if a share is meant, or the amount with its unit"});
    return kNoNode;
  }
  if (w_.nodes[by].percent || (number && !of_numbers)) {
    return w_.nodes.truth(Op::DiffersByShare, x, y, by);
  }
  if (!meet(x, by)) {
    report({Code::R0222,
            expr.kids[2]->span,
            describe(by) + " stands where a share or " + describe(x) + " is needed",
            {},
            "write a share, such as `20 %`"});
    return kNoNode;
  }
  return w_.nodes.truth(Op::DiffersByAmount, x, y, by);
}

NodeId ExpressionLowering::multiple_of(const Expr& expr, const Operand& left) {
  NodeId x = need_quantity(left);
  NodeId step = need_quantity(operand(*expr.kids[1]));
  if (x == kNoNode || step == kNoNode) return kNoNode;
  if (!meet(x, step)) return unlike_quantities(Code::R0220, "compare", expr, x, step);
  return w_.nodes.truth(Op::MultipleOf, x, step);
}

NodeId ExpressionLowering::gauges(const Expr& expr, const Operand& left) {
  const Operand right = operand(*expr.kids[1]);
  const NodeId x = need(left, Type::Gauge, "a gauge");
  if (right.is_node() && w_.nodes.type(right.node) == Type::Quantity) {
    return wrong_type(right, "a gauge", "write the gauge with its unit, as in `21 G`");
  }
  const NodeId y = need(right, Type::Gauge, "a gauge");
  if (x == kNoNode || y == kNoNode) return kNoNode;
  return w_.nodes.truth(expr.kind == Kind::ThinnerThan ? Op::ThinnerThan : Op::WiderThan, x, y);
}

NodeId ExpressionLowering::text_test(const Expr& expr, const Operand& left) {
  const NodeId x = need(left, Type::Text, "a text");
  if (expr.kind == Kind::Matches) return matches(expr, x);
  const Operand right = operand(*expr.kids[1]);
  if (right.failed() || x == kNoNode) return kNoNode;
  if (right.is_word()) return w_.nodes.truth(Op::Contains, x, text_constant(right));
  const Type type = w_.nodes.type(right.node);
  if (type != Type::Text && type != Type::Word) return wrong_type(right, "a text or a word");
  return w_.nodes.truth(Op::Contains, x, right.node);
}

NodeId ExpressionLowering::matches(const Expr& expr, NodeId text) {
  const Expr& pattern = *expr.kids[1];
  if (pattern.kind == Kind::Error) return kNoNode;
  if (pattern.kind != Kind::String) {
    report({Code::R0230, pattern.span, "a pattern is a text in quotes", {}, ""});
    return kNoNode;
  }
  const auto known = w_.pattern_index.find(pattern.text);
  std::uint32_t index = 0;
  if (known != w_.pattern_index.end()) {
    index = known->second;
  } else {
    if (!w_.options.compile_pattern) {
      report({Code::R0230, pattern.span, "this host reads no patterns", {}, ""});
      return kNoNode;
    }
    auto compiled = w_.options.compile_pattern(pattern.text);
    if (!compiled) {
      report({Code::R0230,
              pattern.span,
              "the pattern cannot be read: " + compiled.error().message,
              {},
              ""});
      return kNoNode;
    }
    index = static_cast<std::uint32_t>(w_.program->patterns.size());
    w_.program->patterns.push_back(*std::move(compiled));
    w_.pattern_index.emplace(pattern.text, index);
  }
  if (text == kNoNode) return kNoNode;
  return w_.nodes.truth(Op::Matches, text, kNoNode, kNoNode, index);
}

NodeId ExpressionLowering::includes(const Expr& expr, const Operand& left) {
  const NodeId band = need(left, Type::Band, "a range of a table");
  const NodeId x = need_quantity(operand(*expr.kids[1]));
  if (band == kNoNode || x == kNoNode) return kNoNode;
  const DimensionSet& range = w_.nodes.dimensions(band);
  if (w_.nodes.dimensions(x).meets(range)) return w_.nodes.truth(Op::Includes, band, x);
  return unlike_quantities(Code::R0220, "compare", expr, band, x);
}

}  // namespace meniscus::grammar
