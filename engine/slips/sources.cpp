// Reads a program for what it says about values (contract: sources.hpp).
#include "engine/slips/sources.hpp"

#include <algorithm>
#include <span>

#include "engine/quantity/quantity.hpp"

namespace meniscus::engine::slips {
namespace {

constexpr std::size_t kShortList = 8;  // words
constexpr int kDeepest = 8;            // nodes below a comparison

/// Splits a look-up's condition into conditions on its row.  False where one has another shape.
bool split(const Program& program, NodeId id, std::vector<RowCondition>& out) {
  const Node& node = program.nodes[id];
  if (node.op == Op::And) return split(program, node.x, out) && split(program, node.y, out);
  if (node.op != Op::Equal && node.op != Op::Includes && node.op != Op::SiteIn) return false;
  NodeId row = node.x;
  NodeId other = node.y;
  if (node.op == Op::SiteIn || program.nodes[row].op != Op::RowCell) std::swap(row, other);
  if (program.nodes[row].op != Op::RowCell || program.nodes[other].scoped ||
      program.nodes[other].history) {
    return false;
  }
  out.push_back({node.op, program.nodes[row].a, other, program.nodes[other].type});
  return true;
}

/// Conditions by words come first: they leave the fewest rows.
void words_first(std::vector<RowCondition>& conditions) {
  std::stable_partition(conditions.begin(), conditions.end(), [](const RowCondition& condition) {
    return condition.op == Op::Equal && condition.type == Type::Word;
  });
}

/// `wide` finds all that `narrow` finds.
bool covers(const Listing& wide, const Listing& narrow) {
  if (wide.field != narrow.field || wide.table != narrow.table || wide.column != narrow.column) {
    return false;
  }
  return std::all_of(wide.rest.begin(), wide.rest.end(), [&](const RowCondition& condition) {
    return std::find(narrow.rest.begin(), narrow.rest.end(), condition) != narrow.rest.end();
  });
}

std::string_view before_point(std::string_view name) { return name.substr(0, name.rfind('.')); }
std::string_view behind_point(std::string_view name) {
  const std::size_t point = name.rfind('.');
  return point == std::string_view::npos ? std::string_view{} : name.substr(point + 1);
}

bool ordering(Op op) {
  return op == Op::Less || op == Op::LessEqual || op == Op::Greater || op == Op::GreaterEqual ||
         op == Op::ThinnerThan || op == Op::WiderThan;
}

/// What happened or was seen is not a slip of the pen, and a patient's own traits are not a choice.
bool may_be_another_word(const FieldInfo& field) {
  return field.kind == FieldKind::Word && field.id != FieldId::OrderAction &&
         field.id != FieldId::OrderStatus && field.id != FieldId::PatientSex &&
         field.id != FieldId::SiteCondition;
}

constexpr std::array<std::string_view, 5> kAmounts = {"mg", "mcg", "g", "units", "mL"};
constexpr std::array<std::string_view, 3> kStrengths = {"mg/mL", "mcg/mL", "units/mL"};
constexpr std::array<std::string_view, 3> kPerWeight = {"mg/kg", "mcg/kg", "units/kg"};
constexpr std::array<std::string_view, 3> kWeights = {"kg", "lb", "g"};
constexpr std::array<std::string_view, 3> kLengths = {"mm", "cm", "in"};
constexpr std::array<std::string_view, 5> kTimes = {"hours", "days", "weeks", "months", "years"};

/// Units that are written for one another, by what a field measures.
std::span<const std::string_view> units_for(const FieldInfo& field) {
  if (field.kind == FieldKind::Amount) return kAmounts;
  if (field.kind == FieldKind::Strength) return kStrengths;
  if (field.kind == FieldKind::AmountPerBodyMass) return kPerWeight;
  if (field.kind != FieldKind::Quantity) return {};
  if (field.dimension == dim::kBodyMass) return kWeights;
  if (field.dimension == dim::kLength) return kLengths;
  if (field.dimension == dim::kTime) return kTimes;
  return {};
}

}  // namespace

std::optional<FieldId> plain_field(const Program& program, NodeId id) {
  if (id == kNoNode) return std::nullopt;
  const Node& node = program.nodes[id];
  if (node.op == Op::Field) return static_cast<FieldId>(node.a);
  if (node.op == Op::OrElse) return plain_field(program, node.x);
  return std::nullopt;
}

Sources::Sources(const Program& program) {
  add_lookups(program);
  for (const Node& node : program.nodes)
    add_node(program, node);
  add_words(program);
  add_units();
  for (const Table& table : program.tables) {
    for (std::size_t column = 0; column < table.columns.size(); ++column) {
      if (table.columns[column].type != Type::Gauge) continue;
      for (std::size_t row = 0; row < table.rows(); ++row) {
        add_size(FieldId::NeedleGauge, table.cell(row, column));
        add_size(FieldId::DrawNeedleGauge, table.cell(row, column));
      }
    }
  }
}

void Sources::add_lookups(const Program& program) {
  for (const LookUp& lookup : program.lookups) {
    std::vector<RowCondition> all;
    if (!split(program, lookup.where, all)) continue;
    for (std::size_t i = 0; i < all.size(); ++i) {
      const auto field = plain_field(program, all[i].node);
      if (!field || all[i].op == Op::Includes || info(*field).kind == FieldKind::Code) continue;
      Listing listing{*field, lookup.table, all[i].column, all};
      listing.rest.erase(listing.rest.begin() + static_cast<std::ptrdiff_t>(i));
      words_first(listing.rest);
      const auto known = [&](const Listing& other) { return covers(other, listing); };
      if (std::any_of(listings.begin(), listings.end(), known)) continue;
      std::erase_if(listings, [&](const Listing& other) { return covers(listing, other); });
      listings.push_back(std::move(listing));
    }
  }
}

void Sources::add_node(const Program& program, const Node& node) {
  if (node.op == Op::LookUp && !node.scoped && node.type == Type::Quantity && !node.varies &&
      node.dimension == dim::kVolumePerMark) {
    per_mark.push_back(static_cast<NodeId>(&node - program.nodes.data()));
  }
  if (node.op == Op::OrElse && !node.scoped && program.nodes[node.x].op == Op::Field) {
    fallbacks.push_back({static_cast<FieldId>(program.nodes[node.x].a), node.y});
  }
  if (!ordering(node.op)) return;
  const Node& x = program.nodes[node.x];
  const Node& y = program.nodes[node.y];
  if (x.op == Op::Field && y.op == Op::Field) {
    if (x.type == y.type) add_exchange(static_cast<FieldId>(x.a), static_cast<FieldId>(y.a));
    return;
  }
  add_compared(program, node.x, node.y);
  add_compared(program, node.y, node.x);
}

void Sources::add_compared(const Program& program, NodeId field, NodeId other) {
  if (program.nodes[field].op != Op::Field) return;
  const Type type = program.nodes[field].type;
  if (type != Type::Quantity && type != Type::Gauge) return;
  const auto id = static_cast<FieldId>(program.nodes[field].a);
  // A limit of what is varied freely (a dose, a volume) is no usual value of it.
  if (info(id).kind != FieldKind::Gauge && info(id).dimension != dim::kLength) return;
  add_sizes_of(program, other, id, 0);
}

void Sources::add_sizes_of(const Program& program, NodeId below, FieldId field, int depth) {
  if (below == kNoNode || depth > kDeepest) return;
  const Node& node = program.nodes[below];
  if (node.op == Op::LookUp) {
    const LookUp& lookup = program.lookups[node.a];
    const Table& table = program.tables[lookup.table];
    for (std::size_t row = 0; row < table.rows(); ++row)
      add_size(field, table.cell(row, lookup.column));
    return;
  }
  for (const NodeId child : {node.x, node.y, node.z})
    add_sizes_of(program, child, field, depth + 1);
}

void Sources::add_size(FieldId field, const Value& value) {
  if (!value.known() || value.number <= 0) return;
  std::vector<Value>& list = sizes[index(field)];
  const auto at = std::lower_bound(
      list.begin(), list.end(), value,
      [](const Value& a, const Value& b) { return compare(a.number, b.number) < 0; });
  if (at != list.end() && compare(at->number, value.number) == 0) return;
  Value size = value;
  size.text = {};
  list.insert(at, size);
}

void Sources::add_exchange(FieldId a, FieldId b) {
  Exchange exchange;
  exchange.pairs.emplace_back(a, b);
  const std::string_view first = info(a).name;
  const std::string_view second = info(b).name;
  const bool two_things =
      behind_point(first) == behind_point(second) && before_point(first) != before_point(second);
  exchanges.push_back(exchange);
  if (!two_things) return;
  for (const FieldInfo& field : fields()) {
    if (field.id == a || before_point(field.name) != before_point(first)) continue;
    const auto partner =
        std::find_if(fields().begin(), fields().end(), [&](const FieldInfo& other) {
          return before_point(other.name) == before_point(second) &&
                 behind_point(other.name) == behind_point(field.name) && other.kind == field.kind;
        });
    if (partner != fields().end()) exchange.pairs.emplace_back(field.id, partner->id);
  }
  if (exchange.pairs.size() > 1) exchanges.push_back(std::move(exchange));
}

void Sources::add_words(const Program& program) {
  for (const FieldInfo& field : fields()) {
    if (!may_be_another_word(field)) continue;
    std::vector<Value>& list = words[index(field.id)];
    for (const auto& known : program.vocabularies[index(field.id)].entries()) {
      const auto& entry = known.second;
      const auto same = [&](const Value& word) { return word.aux == entry.word; };
      if (std::none_of(list.begin(), list.end(), same)) {
        list.push_back(Value::word(entry.word, entry.name));
      }
    }
    if (list.size() > kShortList) list.clear();
    std::sort(list.begin(), list.end(),
              [](const Value& a, const Value& b) { return a.text < b.text; });
  }
}

void Sources::add_units() {
  for (const FieldInfo& field : fields()) {
    for (const std::string_view text : units_for(field)) {
      const Result<Unit> unit = parse_unit(text, UnitSet::Order);
      if (!unit) continue;
      Dimension dimension = unit->dimension;
      if (field.dimension == dim::kBodyMass && dimension == dim::kMass) dimension = dim::kBodyMass;
      if (field.kind == FieldKind::AmountPerBodyMass &&
          dimension != dim::kBiological / dim::kBodyMass &&
          dimension != dim::kMass / dim::kBodyMass) {
        continue;
      }
      units[index(field.id)].push_back({text, unit->factor, dimension});
    }
  }
}

}  // namespace meniscus::engine::slips
