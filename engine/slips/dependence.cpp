// One pass over the nodes, children first (contract: dependence.hpp).
#include "engine/slips/dependence.hpp"

namespace meniscus::engine::slips {
namespace {

using F = FieldId;

FieldSet set_of(std::initializer_list<FieldId> list) {
  FieldSet set;
  for (const FieldId field : list)
    set.set(index(field));
  return set;
}

/// What an engine value reads (engine_value.cpp), its own list of needs and what may stand in.
FieldSet read_by(EngineValue value) {
  const FieldSet volume = set_of({F::Volume, F::Dose, F::Injections, F::Strength});
  const FieldSet push = set_of({F::NeedleGauge, F::NeedleLength, F::NeedleWall, F::SyringeCapacity,
                                F::SubstanceVehicle, F::SubstanceCode, F::Strength});
  const FieldSet plan = set_of({F::SupplyDoses, F::ScheduleStart, F::OrderPlaced, F::ScheduleEnd,
                                F::ScheduleEvery, F::ScheduleTimes});
  switch (value) {
    case EngineValue::PlannedDoses:
    case EngineValue::SupplyEnd:
      return plan;
    case EngineValue::WeeklyDose:
      return set_of({F::Dose, F::ScheduleEvery, F::ScheduleTimes});
    case EngineValue::PlungerForce:
      return push;
    case EngineValue::TimeToInject:
      return push | volume;
    case EngineValue::SmallestMeasurable:
      return set_of({F::SyringeGraduation});
    case EngineValue::DrawUpForce:
    case EngineValue::TimeToDrawUp:
      return push | volume | set_of({F::DrawNeedleGauge, F::DrawNeedleLength, F::Technique});
    case EngineValue::DeliveredDoseError:
    case EngineValue::ToleranceShare:
    case EngineValue::GraduationShare:
    case EngineValue::DeadSpaceShare:
      return volume | set_of({F::SyringeCapacity, F::SyringeGraduation, F::SyringeNeedle});
  }
  return {};
}

struct Reads {
  FieldSet fields;
  FieldSet written;
  void operator|=(const Reads& other) {
    fields |= other.fields;
    written |= other.written;
  }
};

class Walk {
 public:
  explicit Walk(const Program& program) : program_(program), reads_(program.nodes.size()) {
    for (NodeId id = 0; id < program_.nodes.size(); ++id)
      reads_[id] = of_node(program_.nodes[id]);
  }

  [[nodiscard]] const Reads& of(NodeId id) const { return id == kNoNode ? none_ : reads_[id]; }

 private:
  [[nodiscard]] Reads own(const Node& node) const {
    const FieldSet day = set_of({F::OrderPlaced, F::OrderGiven, F::ScheduleStart});
    Reads reads;
    if (node.op == Op::Field) reads.fields.set(node.a);
    if (node.op == Op::Field && static_cast<F>(node.a) == F::PatientAge) {
      reads.fields |= day | set_of({F::PatientBorn});
    }
    if (node.op == Op::Written) {
      reads.fields.set(node.a);
      reads.written.set(node.a);
    }
    if (node.op == Op::Engine) reads.fields |= read_by(static_cast<EngineValue>(node.a));
    const bool query = node.op == Op::Query && program_.queries[node.a].source != QuerySource::List;
    if (query || node.op == Op::Today || node.op == Op::PlannedDay || node.op == Op::TimeSince) {
      reads.fields |= day;
    }
    return reads;
  }

  [[nodiscard]] Reads of_node(const Node& node) const {
    Reads reads = own(node);
    for (const NodeId child : {node.x, node.y, node.z})
      reads |= of(child);
    if (node.op == Op::IsOneOf) {
      for (const NodeId child : program_.lists[node.a])
        reads |= of(child);
    }
    if (node.op == Op::LookUp || node.op == Op::LookUpEvery || node.op == Op::AnyRow) {
      reads |= of(program_.lookups[node.a].where);
      reads |= of(program_.lookups[node.a].otherwise);
    }
    if (node.op == Op::Query) {
      const Query& query = program_.queries[node.a];
      for (const NodeId child : {query.list, query.where, query.value})
        reads |= of(child);
    }
    return reads;
  }

  const Program& program_;
  Reads none_;
  std::vector<Reads> reads_;
};

}  // namespace

std::vector<FieldSet> fields_by_node(const Program& program) {
  const Walk walk(program);
  std::vector<FieldSet> fields;
  for (NodeId id = 0; id < program.nodes.size(); ++id)
    fields.push_back(walk.of(id).fields);
  return fields;
}

Dependence::Dependence(const Program& program) {
  const Walk walk(program);
  for (const Rule& each : program.rules) {
    Reads reads = walk.of(each.concerns);
    for (const Clause& clause : each.clauses)
      reads |= walk.of(clause.when);
    rule.push_back(reads.fields);
    rule_written.push_back(reads.written);
    any |= reads.fields;
    written |= reads.written;
  }
}

}  // namespace meniscus::engine::slips
