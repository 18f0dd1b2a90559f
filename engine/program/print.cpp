// A program as text, for golden tests and for people who want to see what a rule became.
#include <array>

#include "engine/program/op_name.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {
namespace {

constexpr std::array kOps = {"constant",
                             "field",
                             "written",
                             "setting",
                             "each",
                             "previous",
                             "item",
                             "row",
                             "today",
                             "planned-day",
                             "engine",
                             "record",
                             "record.field",
                             "record.written",
                             "record.when",
                             "negate",
                             "add",
                             "subtract",
                             "multiply",
                             "divide",
                             "round",
                             "round-up",
                             "round-down",
                             "days-between",
                             "time-since",
                             "date-after",
                             "kind-of",
                             "region-of",
                             "or-else",
                             "choose",
                             "less",
                             "less-equal",
                             "greater",
                             "greater-equal",
                             "equal",
                             "not-equal",
                             "between",
                             "differs-by-share",
                             "differs-by-amount",
                             "multiple-of",
                             "thinner",
                             "wider",
                             "one-of",
                             "site-in",
                             "includes",
                             "contains",
                             "matches",
                             "is-given",
                             "is-missing",
                             "is-none",
                             "not",
                             "and",
                             "or",
                             "look-up",
                             "look-up-every",
                             "any-row",
                             "any-item",
                             "query"};
static_assert(kOps.size() == static_cast<std::size_t>(Op::Query) + 1);

constexpr std::array kTypes = {"truth",  "quantity", "gauge", "date", "word",  "text",
                               "yes-no", "texts",    "items", "band", "record"};

std::string constant_text(const Value& value, const Node& node) {
  if (value.state == State::None) return "none";
  if (value.state == State::Any) return "any";
  if (value.state == State::Missing) return "missing";
  if (node.type == Type::Quantity) {
    return format_quantity({value.number, Dimension::from_bits(value.aux)});
  }
  if (node.type == Type::Date) return format_date(unpack(value.number, value.aux));
  if (node.type == Type::Gauge) return format_number(value.number) + " G";
  return "`" + std::string(value.text) + "`";
}

std::string immediate(const Program& program, const Node& node) {
  switch (node.op) {
    case Op::Constant:
      return constant_text(program.constants[node.a], node);
    case Op::Field:
    case Op::Written:
    case Op::RecordField:
    case Op::RecordWritten:
      return std::string(info(static_cast<FieldId>(node.a)).name);
    case Op::Setting:
      return program.settings[node.a].name;
    case Op::ItemPart:
    case Op::PreviousPart:
      return std::string(name(static_cast<ItemField>(node.a)));
    case Op::Engine:
      return std::string(engine_values()[node.a].name);
    case Op::LookUp:
    case Op::LookUpEvery:
    case Op::AnyRow: {
      const LookUp& lookup = program.lookups[node.a];
      const Table& table = program.tables[lookup.table];
      std::string text = table.name;
      if (node.op != Op::AnyRow) text += "." + table.columns[lookup.column].name;
      text += " where n" + std::to_string(lookup.where);
      if (lookup.key) text += " key " + table.columns[*lookup.key].name;
      return text;
    }
    default:
      return node.a == 0 ? std::string() : std::to_string(node.a);
  }
}

void print_node(const Program& program, NodeId id, std::string& out) {
  const Node& node = program.nodes[id];
  out.append("n").append(std::to_string(id)).append(" ").append(name(node.op));
  const std::string a = immediate(program, node);
  if (!a.empty()) out += " " + a;
  for (const NodeId child : {node.x, node.y, node.z}) {
    if (child != kNoNode) out += " n" + std::to_string(child);
  }
  if (node.op == Op::IsOneOf) {
    for (const NodeId child : program.lists[node.a])
      out += " n" + std::to_string(child);
  }
  out += " : ";
  out += kTypes.at(static_cast<std::size_t>(node.type));
  if (node.type == Type::Quantity) {
    out += node.varies ? " (varies)" : " (" + describe(node.dimension) + ")";
  }
  if (node.history) out += " history";
  out += "\n";
}

}  // namespace

std::string_view name(Op op) { return kOps.at(static_cast<std::size_t>(op)); }

std::string print(const Program& program) {
  std::string out;
  for (const Rule& rule : program.rules) {
    out += "rule " + rule.name;
    if (rule.concerns != kNoNode) out += " concerns n" + std::to_string(rule.concerns);
    if (rule.history) out += " history";
    if (rule.trial) out += " on trial";
    out += "\n";
    for (const Clause& clause : rule.clauses) {
      out +=
          "  " + std::string(name(clause.grade)) + " when n" + std::to_string(clause.when) + "\n";
    }
    for (const Mute& mute : rule.mutes) {
      out += "  mute";
      if (mute.scope != kNoNode) out += " when n" + std::to_string(mute.scope);
      out += "\n";
    }
  }
  for (NodeId id = 0; id < program.nodes.size(); ++id)
    print_node(program, id, out);
  return out;
}

}  // namespace meniscus::engine
