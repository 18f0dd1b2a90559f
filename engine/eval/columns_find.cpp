// Look-ups over columns: rows by key, then the other conjuncts on the few rows that are left.
#include "engine/eval/columns.hpp"
#include "engine/eval/lanes.hpp"
#include "engine/eval/primitives.hpp"

namespace meniscus::engine {

namespace p = primitives;

bool Columns::plan_conjunct(NodeId id, const LookUp& lookup, FindPlan& plan) const {
  const Node& node = program_.nodes[id];
  if (node.op != Op::Equal && node.op != Op::Includes && node.op != Op::SiteIn) return false;
  const auto row_side = [&](NodeId side) {
    return side != kNoNode && program_.nodes[side].op == Op::RowCell;
  };
  const auto free_side = [&](NodeId side) {
    return side != kNoNode && !program_.nodes[side].scoped && !program_.nodes[side].history &&
           program_.nodes[side].type != Type::Text;
  };
  NodeId row = node.x;
  NodeId other = node.y;
  if (node.op == Op::SiteIn || (node.op == Op::Equal && !row_side(row))) std::swap(row, other);
  if (!row_side(row) || !free_side(other)) return false;
  const std::uint32_t column = program_.nodes[row].a;
  const bool is_key = node.op == Op::Equal && lookup.key == column && lookup.key_node == other;
  if (!is_key) plan.rest.push_back({node.op, column, other, program_.nodes[other].type});
  return true;
}

bool Columns::plan_conjuncts(NodeId where, const LookUp& lookup, FindPlan& plan) const {
  const Node& node = program_.nodes[where];
  if (node.op == Op::And) {
    return plan_conjuncts(node.x, lookup, plan) && plan_conjuncts(node.y, lookup, plan);
  }
  return plan_conjunct(where, lookup, plan);
}

void Columns::plan_finds() {
  for (std::uint32_t i = 0; i < program_.lookups.size(); ++i) {
    FindPlan& plan = finds_[program_.find_of[i]];
    if (plan.simple) continue;
    plan.rest.clear();
    plan.lookup = i;
    const LookUp& lookup = program_.lookups[i];
    plan.simple = lookup.key.has_value() && plan_conjuncts(lookup.where, lookup, plan);
  }
}

Truth Columns::row_holds(const FindPlan& plan, std::uint32_t row, unsigned lane,
                         std::span<const ValueView> rest) const {
  const Table& table = program_.tables[program_.lookups[plan.lookup].table];
  Truth all = Truth::True;
  for (std::size_t i = 0; i < plan.rest.size(); ++i) {
    const Conjunct& conjunct = plan.rest[i];
    const ValueView& v = rest[i];
    const Lanes bit = Lanes{1} << lane;
    Value other{v.number[lane], v.aux[lane], {}, State::Missing};
    if ((v.known & bit) != 0) other.state = State::Known;
    if ((v.none & bit) != 0) other.state = State::None;
    if ((v.any & bit) != 0) other.state = State::Any;
    const Value& cell = table.cell(row, conjunct.column);
    Truth one = Truth::Unknown;
    if (conjunct.op == Op::Equal) one = p::equal(conjunct.type, cell, other);
    if (conjunct.op == Op::Includes) one = p::includes(cell, other);
    if (conjunct.op == Op::SiteIn) one = p::site_in(program_, other, cell);
    all = p::both(all, one);
    if (all == Truth::False) return all;
  }
  return all;
}

std::int32_t Columns::find_row(const FindPlan& plan, unsigned lane, const ValueView& key,
                               std::span<const ValueView> rest) const {
  if ((key.known >> lane & 1U) == 0 || key.aux[lane] == kNoWord) return kAsk;
  std::int32_t found = kNoRow;
  const auto take = [&](std::uint32_t row) {
    const Truth holds = row_holds(plan, row, lane, rest);
    if (holds == Truth::Unknown || (holds == Truth::True && found >= 0)) return false;
    if (holds == Truth::True) found = static_cast<std::int32_t>(row);
    return true;
  };
  const auto [first, last] = program_.row_index[plan.lookup].equal_range(key.aux[lane]);
  for (auto at = first; at != last; ++at) {
    if (!take(at->second)) return kAsk;
  }
  for (const std::uint32_t row : program_.any_rows[plan.lookup]) {
    if (!take(row)) return kAsk;
  }
  return found;
}

void Columns::find_rows(FindPlan& plan, Lanes lanes) {
  const Lanes open = lanes & ~plan.done;
  if (open == 0) return;
  plan.done |= open;
  const LookUp& lookup = program_.lookups[plan.lookup];
  const ValueView key = value(lookup.key_node, open);
  std::array<ValueView, 8> rest;
  if (plan.rest.size() > rest.size()) {
    each_lane(open, [&](unsigned lane) { plan.row[lane] = kAsk; });
    return;
  }
  for (std::size_t i = 0; i < plan.rest.size(); ++i)
    rest[i] = value(plan.rest[i].node, open);
  each_lane(open, [&](unsigned lane) { plan.row[lane] = find_row(plan, lane, key, rest); });
}

void Columns::look_up(NodeId id, ValueColumn& out, Lanes lanes) {
  const Node& node = program_.nodes[id];
  const LookUp& lookup = program_.lookups[node.a];
  FindPlan& plan = finds_[program_.find_of[node.a]];
  if (!plan.simple || node.scoped || node.history) return by_lane(id, out, lanes);
  find_rows(plan, lanes);
  const Table& table = program_.tables[lookup.table];
  Lanes slow = 0;
  each_lane(lanes, [&](unsigned lane) {
    const std::int32_t row = plan.row[lane];
    const Lanes bit = Lanes{1} << lane;
    if (row == kAsk || (row == kNoRow && lookup.otherwise != kNoNode)) {
      slow |= bit;
      return;
    }
    if (row == kNoRow) return;
    const Value& cell = table.cell(static_cast<std::size_t>(row), lookup.column);
    out.number[lane] = cell.number;
    out.aux[lane] = cell.aux;
    if (cell.known()) out.known |= bit;
    if (cell.state == State::None) out.none |= bit;
    if (cell.state == State::Any) out.any |= bit;
  });
  if (slow != 0) by_lane(id, out, slow);
}

void Columns::any_row(NodeId id, TruthColumn& out, Lanes lanes) {
  const Node& node = program_.nodes[id];
  FindPlan& plan = finds_[program_.find_of[node.a]];
  if (!plan.simple || node.scoped || node.history) return decide_by_lane(id, out, lanes);
  find_rows(plan, lanes);
  const Lanes slow = select(lanes, [&](unsigned i) { return plan.row[i] == kAsk; });
  put(out, lanes & ~slow, select(lanes & ~slow, [&](unsigned i) { return plan.row[i] >= 0; }), 0,
      0);
  if (slow != 0) decide_by_lane(id, out, slow);
}

}  // namespace meniscus::engine
