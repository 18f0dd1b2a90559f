// What a name stands for: row.C, each.F, earlier.F, lets, defines, settings, fields.
#include <utility>

#include "grammar/lower/expression.hpp"

namespace meniscus::grammar {

using engine::FieldId;
using engine::FieldInfo;
using engine::FieldKind;
using engine::ItemField;

namespace {

bool has_part(FieldKind list, ItemField part) {
  switch (list) {
    case FieldKind::Components:
      return part == ItemField::Substance || part == ItemField::Dose ||
             part == ItemField::Strength || part == ItemField::Volume;
    case FieldKind::Steps:
      return part == ItemField::Dose || part == ItemField::Volume || part == ItemField::Every ||
             part == ItemField::Lasts;
    case FieldKind::Sites:
      return part == ItemField::Site || part == ItemField::Side;
    case FieldKind::Id:
    case FieldKind::Code:
    case FieldKind::Word:
    case FieldKind::Text:
    case FieldKind::Quantity:
    case FieldKind::Amount:
    case FieldKind::Strength:
    case FieldKind::AmountPerBodyMass:
    case FieldKind::Count:
    case FieldKind::Gauge:
    case FieldKind::Date:
    case FieldKind::MonthEnd:
    case FieldKind::YesNo:
    case FieldKind::Words:
      break;
  }
  return false;
}

Type part_type(ItemField part) {
  const bool word =
      part == ItemField::Substance || part == ItemField::Site || part == ItemField::Side;
  return word ? Type::Word : Type::Quantity;
}

DimensionSet part_dimensions(ItemField part) {
  if (part == ItemField::Dose) return DimensionSet::amount();
  if (part == ItemField::Strength) return DimensionSet::strength();
  if (part == ItemField::Volume) return engine::dim::kVolume;
  if (part == ItemField::Every || part == ItemField::Lasts) return engine::dim::kTime;
  return {};
}

}  // namespace

Operand ExpressionLowering::path(const Expr& expr) {
  const std::string_view text = expr.text;
  const std::size_t dot = text.find('.');
  if (dot != std::string_view::npos) {
    if (auto found = scoped_name(expr, text.substr(0, dot), text.substr(dot + 1))) return *found;
  } else if (text == "each" && scope_.item) {
    return item_self(expr);
  }
  if (auto found = declared_name(expr, text)) return *found;
  if (const auto field = engine::field_named(text)) return order_field(expr, *field);
  const Operand bare{Operand::Kind::Bare, kNoNode, &expr};
  if (dot == std::string_view::npos) return bare;
  const std::string_view head = text.substr(0, dot);
  if (const auto record = declared_name(expr, head)) {
    if (record->failed()) return *record;
    if (w_.nodes.type(record->node) == Type::Record) {
      return record_part(expr, record->node, text.substr(dot + 1));
    }
  }
  return of(expr, unknown_name(bare));
}

std::optional<Operand> ExpressionLowering::scoped_name(const Expr& expr, std::string_view head,
                                                       std::string_view rest) {
  if (head == "row") return row_cell(expr, rest);
  if (head == "each") return item_part(expr, rest, Op::ItemPart);
  if (head == "previous") return item_part(expr, rest, Op::PreviousPart);
  if (head != "earlier" && head != "active") return std::nullopt;
  const RecordScope needed = head == "earlier" ? RecordScope::Earlier : RecordScope::Active;
  if (scope_.record == needed) {
    return record_part(expr, w_.nodes.add({Op::CurrentRecord, Type::Record}), rest);
  }
  if (find_let(head) != nullptr || find_define(head)) return std::nullopt;
  report({Code::R0210,
          expr.span,
          quoted(expr.text) + " means something only in the `where` of a query over " +
              (head == "earlier" ? "earlier injections or orders" : "active orders"),
          {},
          "name the query with `let`, then write `NAME." + std::string(rest) + "`"});
  return of(expr, kNoNode);
}

NamedValue* ExpressionLowering::find_let(std::string_view name) const {
  if (scope_.lets == nullptr) return nullptr;
  for (NamedValue& let : *scope_.lets) {
    if (let.let->name.text == name) return &let;
  }
  return nullptr;
}

std::optional<Declared> ExpressionLowering::find_define(std::string_view name) const {
  return w_.names.find(Names::Kind::Define, name);
}

std::optional<Operand> ExpressionLowering::declared_name(const Expr& expr, std::string_view name) {
  const Name use{std::string(name), expr.span};
  if (NamedValue* let = find_let(name)) return of(expr, named_value(*let, use));
  if (const auto define = find_define(name)) {
    return of(expr, named_value(w_.defines[define->index], use));
  }
  const auto setting = w_.names.find(Names::Kind::Setting, name);
  if (!setting) return std::nullopt;
  w_.uses.settings.insert(setting->index);
  const engine::Setting& s = w_.program->settings[setting->index];
  NodeSpec spec{Op::Setting, s.type, setting->index};
  spec.percent = s.percent;
  const bool open = s.value.state == engine::State::Missing && !s.least && !s.most;
  return of(expr, w_.nodes.add(spec, open ? DimensionSet::any() : DimensionSet(s.dimension)));
}

NodeId ExpressionLowering::named_value(NamedValue& value, const Name& use) {
  if (value.progress == Progress::Done) return value.node;
  if (value.progress == Progress::Running) {
    report({Code::R0204, use.span, quoted(use.text) + " needs itself to be worked out",
            value.source == scope_.source
                ? std::vector<engine::Label>{{value.let->name.span, "defined here"}}
                : std::vector<engine::Label>{},
            "say one of them without the other"});
    return kNoNode;
  }
  value.progress = Progress::Running;
  Scope scope;
  scope.source = value.source;
  // A define belongs to all rules, so it cannot see the lets of one.
  const bool is_let = find_let(value.let->name.text) == &value;
  if (is_let) scope.lets = scope_.lets;
  const Scope outer = std::exchange(scope_, scope);
  value.node = value.let->value ? named(*value.let->value) : kNoNode;
  scope_ = outer;
  value.progress = Progress::Done;
  return value.node;
}

Operand ExpressionLowering::row_cell(const Expr& expr, std::string_view column) {
  if (!scope_.row) {
    report({Code::R0210,
            expr.span,
            quoted(expr.text) + " means something only in the `where` of a look-up",
            {},
            "look the value up: `look up " + std::string(column) + " in TABLE where ...`"});
    return of(expr, kNoNode);
  }
  const std::uint32_t table = *scope_.row;
  const auto index =
      find_column(table, {std::string(column), {expr.span.begin + 4, expr.span.end}});
  if (!index) return of(expr, kNoNode);
  NodeSpec spec{Op::RowCell, w_.program->tables[table].columns[*index].type, *index};
  spec.origin = table;
  return of(expr, w_.nodes.add(spec, w_.tables[table].dimensions[*index]));
}

Operand ExpressionLowering::item_self(const Expr& expr) {
  if (scope_.item->self == Type::Items) {
    report({Code::R0232, expr.span, "`each` has parts", {}, "name one, as in `each.volume`"});
    return of(expr, kNoNode);
  }
  NodeSpec spec{Op::ItemSelf, scope_.item->self};
  spec.origin = static_cast<std::uint32_t>(index(scope_.item->field));
  return of(expr, w_.nodes.add(spec));
}

Operand ExpressionLowering::item_part(const Expr& expr, std::string_view part, Op op) {
  if (!scope_.item) {
    report({Code::R0210,
            expr.span,
            quoted(expr.text) + " means something only in `(any of LIST where ...)`",
            {},
            ""});
    return of(expr, kNoNode);
  }
  const FieldInfo& list = engine::info(scope_.item->field);
  const auto known = engine::item_field_named(part);
  if (scope_.item->self != Type::Items || !known || !has_part(list.kind, *known)) {
    Nearest nearest(part);
    for (std::size_t i = 0; i < engine::kItemFieldCount; ++i) {
      const auto each = static_cast<ItemField>(i);
      if (has_part(list.kind, each)) nearest.offer(engine::name(each));
    }
    report({Code::R0209,
            expr.span,
            "the items of " + quoted(list.name) + " have no part " + quoted(part),
            {},
            nearest.help()});
    return of(expr, kNoNode);
  }
  NodeSpec spec{op, part_type(*known), static_cast<std::uint32_t>(*known)};
  return of(expr, w_.nodes.add(spec, part_dimensions(*known)));
}

Operand ExpressionLowering::record_part(const Expr& expr, NodeId record, std::string_view part) {
  if (part == "when") {
    NodeSpec when{Op::RecordWhen, Type::Date};
    when.x = record;
    return of(expr, w_.nodes.add(when));
  }
  const auto field = engine::field_named(part);
  if (!field) {
    Nearest nearest(part);
    offer_fields(nearest);
    nearest.offer("when");
    const auto begin = static_cast<std::uint32_t>(expr.span.end - part.size());
    report({Code::R0209,
            {begin, expr.span.end},
            "an order has no field " + quoted(part),
            {},
            nearest.help("`when` is the day; the fields are listed in docs/fields.md")});
    return of(expr, kNoNode);
  }
  const FieldInfo& info = engine::info(*field);
  NodeSpec spec{Op::RecordField, type_of(info.kind), static_cast<std::uint32_t>(index(*field))};
  spec.x = record;
  return of(expr, or_one(*field, w_.nodes.add(spec, dimensions_of(info))));
}

/// `injections` and `schedule.times` are 1 where nothing is said.
NodeId ExpressionLowering::or_one(FieldId field, NodeId node) {
  if (field != FieldId::Injections && field != FieldId::ScheduleTimes) return node;
  NodeSpec spec{Op::OrElse, Type::Quantity};
  spec.x = node;
  spec.y = w_.nodes.constant(Type::Quantity, engine::Value::quantity(1, engine::dim::kNumber));
  return w_.nodes.add(spec, dimensions_of(engine::info(field)));
}

/// The field itself, where a rule asks about it and not for its value.
NodeId ExpressionLowering::field_of(const Expr& expr, NodeId node) const {
  const engine::Node& given = w_.nodes[node];
  if (expr.kind != Kind::Path || given.op != Op::OrElse) return node;
  const engine::Node& inner = w_.nodes[given.x];
  const bool field = inner.op == Op::Field || inner.op == Op::RecordField;
  const auto id = static_cast<FieldId>(inner.a);
  return field && (id == FieldId::Injections || id == FieldId::ScheduleTimes) ? given.x : node;
}

Operand ExpressionLowering::order_field(const Expr& expr, FieldId field) {
  const FieldInfo& info = engine::info(field);
  const NodeSpec spec{Op::Field, type_of(info.kind), static_cast<std::uint32_t>(index(field))};
  return of(expr, or_one(field, w_.nodes.add(spec, dimensions_of(info))));
}

Operand ExpressionLowering::as_written(const Expr& expr) {
  const Operand source = operand(*expr.kids[0]);
  if (source.failed()) return of(expr, kNoNode);
  if (source.kind == Operand::Kind::Bare) return of(expr, unknown_name(source));
  if (source.is_node()) {
    const engine::Node node = w_.nodes[field_of(*expr.kids[0], source.node)];
    if (node.op == Op::Field) return of(expr, w_.nodes.add({Op::Written, Type::Text, node.a}));
    if (node.op == Op::RecordField) {
      return of(expr, w_.nodes.add({Op::RecordWritten, Type::Text, node.a, node.x}));
    }
  }
  report({Code::R0225,
          expr.kids[0]->span,
          "only a field has a text as written",
          {},
          "name the field itself"});
  return of(expr, kNoNode);
}

NodeId ExpressionLowering::unknown_name(const Operand& operand) {
  const std::string& name = operand.expr->text;
  Nearest nearest(name);
  if (scope_.lets != nullptr) {
    for (const NamedValue& let : *scope_.lets)
      nearest.offer(let.let->name.text);
  }
  w_.names.offer(Names::Kind::Define, nearest);
  w_.names.offer(Names::Kind::Setting, nearest);
  offer_fields(nearest);
  report({Code::R0201,
          operand.expr->span,
          "nothing is named " + quoted(name),
          {},
          nearest.help("declare it with `let`, `define` or `setting`, or name a field")});
  return kNoNode;
}

}  // namespace meniscus::grammar
