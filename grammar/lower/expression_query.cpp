// Look-ups in tables, and queries over lists and over what the patient had before.
#include <algorithm>
#include <utility>

#include "grammar/lower/expression.hpp"
#include "grammar/lower/literals.hpp"

namespace meniscus::grammar {

using engine::FieldId;
using engine::FieldKind;
using engine::LookUp;
using engine::Query;
using engine::QueryKind;
using engine::QuerySource;

namespace {

QueryKind kind_of(AggregateKind kind) {
  switch (kind) {
    case AggregateKind::Latest:
      return QueryKind::Latest;
    case AggregateKind::Earliest:
      return QueryKind::Earliest;
    case AggregateKind::Number:
      return QueryKind::Number;
    case AggregateKind::Total:
      return QueryKind::Total;
    case AggregateKind::Median:
      return QueryKind::Median;
    case AggregateKind::WeeklyDose:
      break;
  }
  return QueryKind::WeeklyDose;
}

QuerySource source_of(AggregateSource source) {
  switch (source) {
    case AggregateSource::EarlierInjections:
      return QuerySource::EarlierInjections;
    case AggregateSource::EarlierOrders:
      return QuerySource::EarlierOrders;
    case AggregateSource::ActiveOrders:
      return QuerySource::ActiveOrders;
    case AggregateSource::List:
      break;
  }
  return QuerySource::List;
}

bool same(const LookUp& a, const LookUp& b) {
  return a.table == b.table && a.column == b.column && a.where == b.where &&
         a.otherwise == b.otherwise;
}

bool same(const Query& a, const Query& b) {
  return a.kind == b.kind && a.source == b.source && a.list == b.list && a.last == b.last &&
         a.within == b.within && a.where == b.where && a.value == b.value;
}

}  // namespace

Operand ExpressionLowering::query(const Expr& expr) {
  if (expr.kind == Kind::LookUp || expr.kind == Kind::LookUpEvery) return look_up(expr);
  if (expr.kind == Kind::AnyRow) return any_row(expr);
  if (expr.kind == Kind::AnyOfWhere) return any_item(expr);
  if (expr.kind == Kind::Aggregate) return aggregate(expr);
  report({Code::R0232,
          expr.span,
          "`any of` stands only on the left of a comparison",
          {},
          "write `any of LIST is VALUE`"});
  return of(expr, kNoNode);
}

std::optional<std::uint32_t> ExpressionLowering::find_table(const Expr& expr) {
  const auto table = w_.names.find(Names::Kind::Table, expr.table.text);
  if (table) {
    w_.uses.tables.insert(table->index);
    return table->index;
  }
  Nearest nearest(expr.table.text);
  w_.names.offer(Names::Kind::Table, nearest);
  report({Code::R0207,
          expr.table.span,
          "no table is named " + quoted(expr.table.text),
          {},
          nearest.help("declare it: `table NAME from \"FILE.csv\"`")});
  return std::nullopt;
}

std::optional<std::uint32_t> ExpressionLowering::find_column(std::uint32_t table,
                                                             const Name& name) {
  if (w_.tables[table].broken) return std::nullopt;
  const engine::Table& t = w_.program->tables[table];
  if (const auto column = t.column(name.text)) {
    const auto found = static_cast<std::uint32_t>(*column);
    w_.uses.columns.emplace(table, found);
    return found;
  }
  Nearest nearest(name.text);
  std::string all;
  for (const engine::Column& column : t.columns) {
    nearest.offer(column.name);
    all += (all.empty() ? "" : ", ") + column.name;
  }
  report({Code::R0208,
          name.span,
          "table " + quoted(t.name) + " has no column " + quoted(name.text),
          {},
          nearest.help("its columns are " + all)});
  return std::nullopt;
}

NodeId ExpressionLowering::condition_on_row(const Expr& expr, std::uint32_t table) {
  const Scope outer = scope_;
  scope_.row = table;
  const NodeId where = condition(*expr.kids[0]);
  scope_ = outer;
  return where;
}

Operand ExpressionLowering::look_up(const Expr& expr) {
  const auto table = find_table(expr);
  if (!table) return of(expr, kNoNode);
  const auto column = find_column(*table, expr.column);
  const NodeId where = condition_on_row(expr, *table);
  if (!column) return of(expr, kNoNode);
  LookUp lookup;
  lookup.table = *table;
  lookup.column = *column;
  lookup.where = where;
  if (expr.kids.size() > 1) {
    lookup.otherwise = otherwise(*expr.kids[1], *table, *column);
    if (lookup.otherwise == kNoNode) return of(expr, kNoNode);
  }
  if (where == kNoNode) return of(expr, kNoNode);
  find_key(lookup, where);
  const bool every = expr.kind == Kind::LookUpEvery;
  const Type type = every ? Type::Texts : w_.program->tables[*table].columns[*column].type;
  if (every && w_.program->tables[*table].columns[*column].type != Type::Text &&
      w_.program->tables[*table].columns[*column].type != Type::Word) {
    report({Code::R0225,
            expr.column.span,
            "`look up every` needs a column of words or texts",
            {},
            ""});
    return of(expr, kNoNode);
  }
  DimensionSet dimensions;
  if (type == Type::Quantity || type == Type::Band) {
    dimensions = w_.tables[*table].dimensions[*column];
    if (lookup.otherwise != kNoNode) {
      dimensions = DimensionSet::either(dimensions, w_.nodes.dimensions(lookup.otherwise));
    }
  }
  return of(expr, w_.nodes.add({every ? Op::LookUpEvery : Op::LookUp, type, add_lookup(lookup)},
                               dimensions));
}

NodeId ExpressionLowering::otherwise(const Expr& expr, std::uint32_t table, std::uint32_t column) {
  const Operand other = operand(expr);
  const Type type = w_.program->tables[table].columns[column].type;
  if (other.is_word() && type == Type::Word) return word_constant(other, {});
  if (other.is_word() && type == Type::Text) return text_constant(other);
  if (type == Type::Quantity) {
    return need_quantity(other, w_.tables[table].dimensions[column],
                         w_.tables[table].dimensions[column].describe());
  }
  return need(other, type, "a value like the column's");
}

Operand ExpressionLowering::any_row(const Expr& expr) {
  const auto table = find_table(expr);
  if (!table) return of(expr, kNoNode);
  const NodeId where = condition_on_row(expr, *table);
  if (where == kNoNode) return of(expr, kNoNode);
  LookUp lookup;
  lookup.table = *table;
  lookup.where = where;
  find_key(lookup, where);
  return of(expr, w_.nodes.truth(Op::AnyRow, kNoNode, kNoNode, kNoNode, add_lookup(lookup)));
}

void ExpressionLowering::find_key(LookUp& lookup, NodeId where) const {
  const engine::Node& node = w_.nodes[where];
  if (node.op == Op::And) {
    find_key(lookup, node.x);
    if (!lookup.key) find_key(lookup, node.y);
    return;
  }
  if (node.op != Op::Equal || w_.nodes.type(node.x) != Type::Word) return;
  const bool left = w_.nodes[node.x].op == Op::RowCell;
  const NodeId cell = left ? node.x : node.y;
  const NodeId key = left ? node.y : node.x;
  if (w_.nodes[cell].op != Op::RowCell || !free_of_row(key)) return;
  lookup.key = w_.nodes[cell].a;
  lookup.key_node = key;
}

bool ExpressionLowering::free_of_row(NodeId id) const {
  if (id == kNoNode) return true;
  const engine::Node& node = w_.nodes[id];
  if (node.op == Op::RowCell) return false;
  if (!free_of_row(node.x) || !free_of_row(node.y) || !free_of_row(node.z)) return false;
  // The row of an inner look-up's `where` is its own; its `otherwise` stands outside.
  if (node.op == Op::LookUp) return free_of_row(w_.program->lookups[node.a].otherwise);
  if (node.op == Op::IsOneOf) {
    const auto& list = w_.program->lists[node.a];
    return std::all_of(list.begin(), list.end(), [&](NodeId each) { return free_of_row(each); });
  }
  if (node.op == Op::Query) {
    const Query& q = w_.program->queries[node.a];
    return free_of_row(q.list) && free_of_row(q.where) && free_of_row(q.value);
  }
  return true;
}

std::uint32_t ExpressionLowering::add_lookup(const LookUp& lookup) {
  auto& all = w_.program->lookups;
  const auto at =
      std::find_if(all.begin(), all.end(), [&](const LookUp& each) { return same(each, lookup); });
  const auto index = static_cast<std::uint32_t>(at - all.begin());
  if (at == all.end()) all.push_back(lookup);
  return index;
}

std::uint32_t ExpressionLowering::add_query(const Query& query) {
  auto& all = w_.program->queries;
  const auto at =
      std::find_if(all.begin(), all.end(), [&](const Query& each) { return same(each, query); });
  const auto index = static_cast<std::uint32_t>(at - all.begin());
  if (at == all.end()) all.push_back(query);
  return index;
}

NodeId ExpressionLowering::list(const Expr& expr, ItemScope& item) {
  return list_of(operand(expr), item);
}

NodeId ExpressionLowering::list_of(const Operand& operand, ItemScope& item) {
  if (operand.failed()) return kNoNode;
  if (operand.kind == Operand::Kind::Bare) return unknown_name(operand);
  const Type type = operand.is_node() ? w_.nodes.type(operand.node) : Type::Text;
  if (type != Type::Texts && type != Type::Items) return wrong_type(operand, "a list");
  const engine::Node& node = w_.nodes[operand.node];
  if (node.op == Op::LookUpEvery) {
    const LookUp& lookup = w_.program->lookups[node.a];
    item.self = w_.program->tables[lookup.table].columns[lookup.column].type;
    return operand.node;
  }
  if (node.op != Op::Field && node.op != Op::RecordField) {
    return wrong_type(operand, "a field that is a list");
  }
  item.field = static_cast<FieldId>(node.a);
  item.self = type == Type::Texts ? Type::Word : Type::Items;
  return operand.node;
}

Operand ExpressionLowering::any_item(const Expr& expr) {
  ItemScope item;
  const NodeId items = list(*expr.kids[0], item);
  if (items == kNoNode) return of(expr, kNoNode);
  const Scope outer = scope_;
  scope_.item = item;
  const NodeId holds = condition(*expr.kids[1]);
  scope_ = outer;
  return of(expr, holds == kNoNode ? kNoNode : w_.nodes.truth(Op::AnyItem, items, holds));
}

Operand ExpressionLowering::aggregate(const Expr& expr) {
  const Aggregate& a = expr.aggregate;
  Query query;
  query.kind = kind_of(a.kind);
  query.source = source_of(a.source);
  query.last = a.last;
  bool good = aggregate_window(expr, query);
  const Scope outer = scope_;
  if (query.source == QuerySource::List) {
    Expr name;
    name.kind = Kind::Path;
    name.text = a.list.text;
    name.span = a.list.span;
    ItemScope item;
    query.list = list(name, item);
    good = good && query.list != kNoNode;
    scope_.item = item;
  } else {
    const bool active = query.source == QuerySource::ActiveOrders;
    scope_.record = active ? RecordScope::Active : RecordScope::Earlier;
  }
  if (good && !expr.kids.empty()) {
    query.where = condition(*expr.kids[0]);
    good = query.where != kNoNode;
  }
  if (good && (a.kind == AggregateKind::Total || a.kind == AggregateKind::Median)) {
    query.value = aggregate_value(expr);
    good = query.value != kNoNode;
  }
  scope_ = outer;
  if (!good) return of(expr, kNoNode);
  const bool record = query.kind == QueryKind::Latest || query.kind == QueryKind::Earliest;
  DimensionSet dimensions;
  if (query.kind == QueryKind::WeeklyDose) dimensions = DimensionSet::amount();
  if (query.value != kNoNode) dimensions = w_.nodes.dimensions(query.value);
  return of(expr,
            w_.nodes.add({Op::Query, record ? Type::Record : Type::Quantity, add_query(query)},
                         dimensions));
}

bool ExpressionLowering::aggregate_window(const Expr& expr, Query& query) {
  const Name& within = expr.aggregate.within;
  if (within.text.empty()) return true;
  const auto literal = read_quantity_literal(within.text);
  if (!literal) {
    report({Code::R0229, within.span, literal.error().message, {}, ""});
    return false;
  }
  const bool time =
      literal->type == Type::Quantity && literal->value.aux == engine::dim::kTime.bits();
  if (!time) {
    report({Code::R0222,
            within.span,
            quoted(within.text) + " is no time",
            {},
            "write a time, such as `26 weeks`"});
    return false;
  }
  query.within = literal->value.number;
  return true;
}

NodeId ExpressionLowering::aggregate_value(const Expr& expr) {
  const Name& field = expr.aggregate.field;
  Expr name;
  name.kind = Kind::Path;
  name.span = field.span;
  const bool items = expr.aggregate.source == AggregateSource::List;
  Operand value;
  if (items) {
    name.text = field.text;
    value = item_part(name, field.text, Op::ItemPart);
  } else {
    name.text = field.text;
    value = record_part(name, w_.nodes.add({Op::CurrentRecord, Type::Record}), field.text);
  }
  if (value.failed()) return kNoNode;
  if (w_.nodes.type(value.node) == Type::Quantity) return value.node;
  report({Code::R0225,
          field.span,
          describe(value.node) + " stands where a quantity to add up is needed",
          {},
          ""});
  return kNoNode;
}

}  // namespace meniscus::grammar
