// What could differ (contract: variation.hpp).
#include "engine/eval/variation.hpp"

#include <algorithm>

#include "engine/eval/engine_value.hpp"
#include "engine/eval/lanes.hpp"
#include "engine/eval/order_keys.hpp"

namespace meniscus::engine {

Variation::Variation(const Program& program, Columns& columns)
    : program_(program),
      columns_(columns),
      kept_(program.nodes.size()),
      outer_(program.nodes.size()),
      outer_known_(program.nodes.size(), false) {}

Variation::Masks Variation::of(NodeId id, Lanes lanes) {
  if (id == kNoNode || lanes == 0) return {};
  if (kept_[id].turn != turn_) kept_[id] = {turn_, 0, {}};
  const Lanes open = lanes & ~kept_[id].done;
  if (open != 0) {
    const Masks masks = work_out(id, program_.nodes[id], open);
    Kept& kept = kept_[id];
    kept.done |= open;
    kept.masks.value |= (masks.value | masks.state) & open;
    kept.masks.state |= masks.state & open;
  }
  return {kept_[id].masks.value & lanes, kept_[id].masks.state & lanes};
}

Variation::Masks Variation::work_out(NodeId id, const Node& node, Lanes lanes) {
  switch (node.op) {
    case Op::Negate:
    case Op::Add:
    case Op::Subtract:
    case Op::Multiply:
    case Op::Divide:
    case Op::RoundNearest:
    case Op::RoundUp:
    case Op::RoundDown:
    case Op::DaysBetween:
    case Op::DateAfter:
    case Op::Less:
    case Op::LessEqual:
    case Op::Greater:
    case Op::GreaterEqual:
    case Op::Equal:
    case Op::NotEqual:
    case Op::DiffersByShare:
    case Op::DiffersByAmount:
    case Op::MultipleOf:
    case Op::ThinnerThan:
    case Op::WiderThan:
      return of_operands(node, {node.x, node.y, node.z}, lanes);
    case Op::Between:
      return of_between(node, lanes);
    case Op::IsOneOf:
      return of_list(node, lanes);
    case Op::IsGiven:
    case Op::IsMissing:
    case Op::IsNone:
      return {of(node.x, lanes).state, 0};
    case Op::Not:
      return {of(node.x, lanes).value, 0};
    case Op::And:
    case Op::Or:
      return of_logic(node, lanes);
    case Op::OrElse:
      return of_or_else(node, lanes);
    case Op::Choose:
      return of_choice(node, lanes);
    case Op::Query:
      return of_query(id, node, lanes);
    case Op::KindOf:
    case Op::RegionOf:
    case Op::SiteIn:
    case Op::Includes:
    case Op::Contains:
    case Op::Matches:
    case Op::LookUp:
    case Op::LookUpEvery:
    case Op::AnyRow:
    case Op::AnyItem:
      return of_what_is_read(id, lanes);
    default:
      return of_leaf(node, lanes);
  }
}

Variation::Masks Variation::of_leaf(const Node& node, Lanes lanes) {
  switch (node.op) {
    case Op::Constant:
    case Op::Setting:
      return {};
    case Op::Field:
      return of_field(static_cast<FieldId>(node.a), lanes);
    case Op::Written: {
      const auto field = static_cast<FieldId>(node.a);
      const Lanes there = is_left_out(field) ? lanes & block_->column(field).present : 0;
      return {there, there};
    }
    case Op::Today:
    case Op::PlannedDay:
      return {lanes, 0};
    case Op::Engine:
      return of_engine(static_cast<EngineValue>(node.a), lanes);
    case Op::RecordField:
    case Op::RecordWritten:
    case Op::RecordWhen: {
      const Lanes value = of(node.x, lanes).value;
      return {value, value};
    }
    case Op::TimeSince:
      return of_time_since(node, lanes);
    default:  // of a row, an item or a record: nobody asks
      return {lanes, lanes};
  }
}

Variation::Masks Variation::of_query(NodeId id, const Node& node, Lanes lanes) {
  if (program_.queries[node.a].source == QuerySource::List) return of_what_is_read(id, lanes);
  const Lanes some = with_records(lanes);
  return {some, some};
}

Variation::Masks Variation::of_field(FieldId field, Lanes lanes) const {
  return {is_left_out(field) ? lanes & block_->column(field).known : 0, 0};
}

/// Whose history may say something.
Lanes Variation::with_records(Lanes lanes) const {
  return select(lanes, [&](unsigned lane) {
    const OrderFacts& facts = columns_.facts(lane);
    return (facts.records != nullptr && !facts.records->empty()) || facts.since != History::kAlways;
  });
}

Variation::Masks Variation::of_engine(EngineValue value, Lanes lanes) const {
  const std::span<const FieldId> reads = engine_value_reads(value);
  Lanes varies = 0;
  if (reads.empty()) {  // days play a part where doses can be counted at all
    varies = lanes & (block_->column(FieldId::SupplyDoses).known |
                      block_->column(FieldId::ScheduleEnd).known);
  }
  for (const FieldId field : reads)
    varies |= of_field(field, lanes).value;
  return {varies, varies};
}

/// To today, or to a second time that may not say the time of day.
Variation::Masks Variation::of_time_since(const Node& node, Lanes lanes) {
  if (node.y != kNoNode) {
    const Masks masks = of_operands(node, {node.x, node.y}, lanes);
    return {masks.value, masks.value | masks.state};
  }
  const Masks x = of(node.x, lanes);
  const Lanes settled = lanes & ~x.state;
  const Lanes known = settled == 0 ? 0 : columns_.value(node.x, settled).known & settled;
  return {known | x.state, x.state};
}

/// Where every state is certain and one operand is not known, no number matters.
Variation::Masks Variation::of_operands(const Node& node, std::initializer_list<NodeId> operands,
                                        Lanes lanes) {
  Masks all;
  for (const NodeId operand : operands) {
    const Masks one = of(operand, lanes);
    all.value |= one.value;
    all.state |= one.state;
  }
  if (all.value == 0) return {};
  Lanes known = all.value & ~all.state;
  for (const NodeId operand : operands) {
    if (operand != kNoNode && known != 0) known &= columns_.value(operand, known).known;
  }
  Masks result{known | all.state, all.state};
  const bool dated = node.op == Op::DaysBetween || node.op == Op::DateAfter;
  const bool divides = node.op == Op::Divide;  // by what may be zero
  bool kinds = divides;
  for (const NodeId operand : operands)
    kinds = kinds || (operand != kNoNode && program_.nodes[operand].varies);
  if (!dated && kinds) result.state |= known;
  return result;
}

/// One end alone can settle it.
Variation::Masks Variation::of_between(const Node& node, Lanes lanes) {
  const Masks low = of_operands(node, {node.x, node.y}, lanes);
  const Masks high = of_operands(node, {node.x, node.z}, lanes);
  return {low.value | high.value, 0};
}

Variation::Masks Variation::of_list(const Node& node, Lanes lanes) {
  Masks all;
  for (const NodeId each : program_.lists[node.a]) {
    const Masks one = of_operands(node, {node.x, each}, lanes);
    all.value |= one.value | one.state;
  }
  return all;
}

/// The lanes among `lanes` in which a condition is certainly `as`: true or false.
Lanes Variation::decided(NodeId id, bool as, Lanes lanes) {
  lanes &= ~of(id, lanes).value;
  if (lanes == 0) return 0;
  const TruthColumn truth = columns_.truth(id, lanes);
  return lanes & (as ? truth.holds : ~(truth.holds | truth.unknown | truth.none));
}

Variation::Masks Variation::of_logic(const Node& node, Lanes lanes) {
  const Lanes varies = of(node.x, lanes).value | of(node.y, lanes).value;
  if (varies == 0) return {};
  const bool settles = node.op == Op::Or;
  const Lanes settled = decided(node.x, settles, varies) | decided(node.y, settles, varies);
  return {varies & ~settled, 0};
}

Variation::Masks Variation::of_or_else(const Node& node, Lanes lanes) {
  const Masks x = of(node.x, lanes);
  const Lanes certain = lanes & ~x.state;
  if (certain == 0) return {lanes, lanes};
  const ValueView view = columns_.value(node.x, certain);
  const Lanes first = certain & (view.known | view.any);
  const Masks y = of(node.y, certain & ~first);
  return {(x.value & first) | y.value | x.state, y.state | x.state};
}

Variation::Masks Variation::of_choice(const Node& node, Lanes lanes) {
  const Lanes open = of(node.x, lanes).value;
  const Lanes certain = lanes & ~open;
  if (certain == 0) return {lanes, lanes};
  const TruthColumn truth = columns_.truth(node.x, certain);
  const Masks yes = of(node.y, certain & truth.holds);
  const Masks no = of(node.z, certain & ~truth.holds & ~truth.unknown);
  return {open | yes.value | no.value, open | yes.state | no.state};
}

/// Searches and texts: nothing that stands outside of the rows or items may vary.
Variation::Masks Variation::of_what_is_read(NodeId id, Lanes lanes) {
  if (!outer_known_[id]) {
    find_outer(id, true, outer_[id]);
    outer_known_[id] = true;
  }
  Lanes varies = 0;
  for (const NodeId outside : outer_[id])
    varies |= of(outside, lanes).value;
  return {varies, varies};
}

void Variation::find_outer(NodeId id, bool top, std::vector<NodeId>& out) const {
  if (id == kNoNode) return;
  const Node& node = program_.nodes[id];
  if (!top && !node.scoped) {
    if (std::find(out.begin(), out.end(), id) == out.end()) out.push_back(id);
    return;
  }
  for (const NodeId child : {node.x, node.y, node.z})
    find_outer(child, false, out);
  if (node.op == Op::IsOneOf) {
    for (const NodeId child : program_.lists[node.a])
      find_outer(child, false, out);
  }
  if (node.op == Op::LookUp || node.op == Op::LookUpEvery || node.op == Op::AnyRow) {
    find_outer(program_.lookups[node.a].where, false, out);
    find_outer(program_.lookups[node.a].otherwise, false, out);
  }
  if (node.op == Op::Query) {
    const Query& query = program_.queries[node.a];
    for (const NodeId child : {query.list, query.where, query.value})
      find_outer(child, false, out);
  }
}

Variation::Fixed Variation::fixed(const Rule& rule, Lanes lanes) {
  Fixed result{lanes, lanes};
  if (rule.concerns != kNoNode) {
    result.lanes &= ~of(rule.concerns, lanes).value;
    result.concerned = result.lanes;
    if (result.lanes != 0) result.concerned &= columns_.truth(rule.concerns, result.lanes).holds;
  }
  Lanes rest = result.concerned;
  for (const Clause& clause : rule.clauses) {
    if (rest == 0) break;
    const Lanes varies = of(clause.when, rest).value;
    result.lanes &= ~varies;
    rest &= ~varies;
    if (rest != 0) rest &= ~columns_.truth(clause.when, rest).holds;
  }
  result.concerned &= result.lanes;
  return result;
}

}  // namespace meniscus::engine
