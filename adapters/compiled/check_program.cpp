// Contract: check_program.hpp.
#include "adapters/compiled/check_program.hpp"

#include <algorithm>
#include <cmath>

namespace meniscus::adapters {
namespace {

using engine::kNoNode;
using engine::NodeId;
using engine::Op;

/// How many of x, y, z an operation cannot do without.
// NOLINTNEXTLINE(readability-function-size): a table
unsigned operands(Op op) {
  switch (op) {
    case Op::Constant:
    case Op::Field:
    case Op::Written:
    case Op::Setting:
    case Op::ItemPart:
    case Op::PreviousPart:
    case Op::ItemSelf:
    case Op::RowCell:
    case Op::Today:
    case Op::PlannedDay:
    case Op::Engine:
    case Op::CurrentRecord:
    case Op::LookUp:
    case Op::LookUpEvery:
    case Op::AnyRow:
    case Op::Query:
      return 0;
    case Op::RecordField:
    case Op::RecordWritten:
    case Op::RecordWhen:
    case Op::Negate:
    case Op::TimeSince:
    case Op::KindOf:
    case Op::RegionOf:
    case Op::IsOneOf:
    case Op::Matches:
    case Op::IsGiven:
    case Op::IsMissing:
    case Op::IsNone:
    case Op::Not:
      return 1;
    case Op::Add:
    case Op::Subtract:
    case Op::Multiply:
    case Op::Divide:
    case Op::RoundNearest:
    case Op::RoundUp:
    case Op::RoundDown:
    case Op::DaysBetween:
    case Op::DateAfter:
    case Op::OrElse:
    case Op::Less:
    case Op::LessEqual:
    case Op::Greater:
    case Op::GreaterEqual:
    case Op::Equal:
    case Op::NotEqual:
    case Op::MultipleOf:
    case Op::ThinnerThan:
    case Op::WiderThan:
    case Op::SiteIn:
    case Op::Includes:
    case Op::Contains:
    case Op::And:
    case Op::Or:
    case Op::AnyItem:
      return 2;
    case Op::Choose:
    case Op::Between:
    case Op::DiffersByShare:
    case Op::DiffersByAmount:
      return 3;
  }
  return 0;
}

class ProgramCheck {
 public:
  explicit ProgramCheck(const engine::Program& program)
      : p_(program), columns_below_(program.nodes.size(), 0) {}

  bool run() {
    return std::ranges::all_of(p_.tables, [](const auto& x) { return is_table(x); }) &&
           std::ranges::all_of(p_.queries, [](const auto& x) { return is_query(x); }) &&
           are_nodes() && std::ranges::all_of(p_.lookups, [&](const auto& x) { return fits(x); }) &&
           std::ranges::all_of(p_.rules, [&](const auto& x) { return is_rule(x); }) &&
           std::ranges::all_of(p_.aside, [&](const auto& x) { return is_rule(x); }) &&
           std::ranges::all_of(p_.defines, [&](const auto& x) { return may_be(x.second); }) &&
           std::ranges::all_of(p_.spellings, [&](const auto& x) { return is_spelling(x); });
  }

 private:
  static bool is_table(const engine::Table& table) {
    const std::size_t columns = table.columns.size();
    return columns > 0 && table.cells.size() % columns == 0 && table.lines.size() == table.rows();
  }

  static bool is_query(const engine::Query& query) {
    using engine::QueryKind;
    const bool sums = query.kind == QueryKind::Total || query.kind == QueryKind::Median;
    return (query.source != engine::QuerySource::List || query.list != kNoNode) &&
           (!sums || query.value != kNoNode);
  }

  bool are_nodes() {
    for (NodeId id = 0; id < p_.nodes.size(); ++id) {
      if (!is_node(id)) return false;
    }
    return true;
  }

  bool is_node(NodeId id) {
    const engine::Node& node = p_.nodes[id];
    const unsigned needed = operands(node.op);
    unsigned place = 0;
    for (const NodeId child : {node.x, node.y, node.z}) {
      if (child == kNoNode ? place < needed : !stands_before(child, id)) return false;
      ++place;
    }
    return is_immediate(node, id);
  }

  /// A child of `parent`; what it asks of a row is asked by the parent too.
  bool stands_before(NodeId child, NodeId parent) {
    if (child >= parent) return false;
    columns_below_[parent] = std::max(columns_below_[parent], columns_below_[child]);
    return true;
  }
  bool may_stand_before(NodeId child, NodeId parent) {
    return child == kNoNode || stands_before(child, parent);
  }

  bool is_immediate(const engine::Node& node, NodeId id) {
    const std::uint32_t a = node.a;
    switch (node.op) {
      case Op::Constant:
        return a < p_.constants.size() && is_constant(node.type, p_.constants[a]);
      case Op::Field:
      case Op::Written:
      case Op::RecordField:
      case Op::RecordWritten:
        return a < engine::kFieldCount;
      case Op::Setting:
        return a < p_.settings.size();
      case Op::ItemPart:
      case Op::PreviousPart:
        return a < engine::kItemFieldCount;
      case Op::RowCell:
        columns_below_[id] = a == kNoNode ? a : a + 1;
        return true;
      case Op::Engine:
        return a < engine::engine_values().size();
      case Op::IsOneOf:
        return a < p_.lists.size() &&
               std::ranges::all_of(p_.lists[a], [&](NodeId x) { return stands_before(x, id); });
      case Op::Matches:
        return a < p_.patterns.size();
      case Op::LookUp:
      case Op::LookUpEvery:
      case Op::AnyRow:
        return a < p_.lookups.size() && is_look_up(p_.lookups[a], id);
      case Op::Query:
        return a < p_.queries.size() && rests_on(p_.queries[a], id);
      default:  // every other operation has no immediate
        return true;
    }
  }

  /// Of a kind that can be written, and a date that is one.
  static bool is_constant(engine::Type type, const engine::Value& value) {
    constexpr double kMostSeconds = 1e12;  // 30,000 years
    const bool is_part =
        type == engine::Type::Texts || type == engine::Type::Items || type == engine::Type::Record;
    return !is_part && (type != engine::Type::Date || std::fabs(value.number) <= kMostSeconds);
  }

  bool rests_on(const engine::Query& query, NodeId id) {
    return may_stand_before(query.list, id) && may_stand_before(query.where, id) &&
           may_stand_before(query.value, id);
  }

  /// Its condition asks for the cells of its own table's row, so these are not passed on.
  bool is_look_up(const engine::LookUp& lookup, NodeId id) {
    return lookup.where < id && (!lookup.key || lookup.key_node < id) &&
           may_stand_before(lookup.otherwise, id);
  }

  /// A look-up that no node refers to has to fit too: it is indexed all the same.
  [[nodiscard]] bool fits(const engine::LookUp& lookup) const {
    if (lookup.table >= p_.tables.size() || !is(lookup.where) || !may_be(lookup.otherwise) ||
        !may_be(lookup.key_node)) {
      return false;
    }
    const std::size_t columns = p_.tables[lookup.table].columns.size();
    return lookup.column < columns && (!lookup.key || *lookup.key < columns) &&
           columns_below_[lookup.where] <= columns;
  }

  [[nodiscard]] bool is(NodeId id) const { return id < p_.nodes.size(); }
  [[nodiscard]] bool may_be(NodeId id) const { return id == kNoNode || is(id); }

  [[nodiscard]] bool is_rule(const engine::Rule& rule) const {
    return may_be(rule.concerns) &&
           std::ranges::all_of(rule.clauses,
                               [&](const engine::Clause& x) {
                                 return is(x.when) && are_words(x.say) && are_words(x.ask);
                               }) &&
           std::ranges::all_of(rule.withouts,
                               [&](const engine::Without& x) { return is_without(x); }) &&
           std::ranges::all_of(rule.lets, [&](const auto& x) { return may_be(x.second); }) &&
           std::ranges::all_of(rule.mutes,
                               [&](const engine::Mute& x) {
                                 return may_be(x.scope) && x.change < p_.changes.size();
                               }) &&
           (!rule.trial || *rule.trial < p_.changes.size()) &&
           (rule.reads >> engine::kFieldCount).none();
  }

  [[nodiscard]] bool is_without(const engine::Without& without) const {
    return are_words(without.say) && are_words(without.ask) &&
           std::ranges::all_of(without.settings,
                               [&](std::uint32_t x) { return x < p_.settings.size(); });
  }

  [[nodiscard]] bool are_words(const engine::Template& words) const {
    return std::ranges::all_of(words.pieces, [&](const auto& x) { return may_be(x.node); });
  }

  [[nodiscard]] bool is_spelling(const engine::Spelling& spelling) const {
    return is(spelling.node) && spelling.source < p_.sources.size() &&
           spelling.span.begin <= spelling.span.end &&
           spelling.span.end <= p_.sources[spelling.source]->text().size();
  }

  const engine::Program& p_;
  std::vector<std::uint32_t> columns_below_;  // by node: one more than the last that it asks for
};

}  // namespace

bool holds_together(const engine::Program& program) { return ProgramCheck(program).run(); }

}  // namespace meniscus::adapters
