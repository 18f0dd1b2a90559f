// One walk over the nodes of a clause, and their values (contract: question.hpp).
#include "engine/answers/question.hpp"

#include <algorithm>
#include <array>

#include "engine/answers/answered_values.hpp"
#include "engine/answers/conditions.hpp"
#include "engine/explain/wording.hpp"
#include "engine/program/node_walk.hpp"
#include "engine/slips/dependence.hpp"

namespace meniscus::engine {
namespace {

constexpr std::array kDays = {FieldId::OrderPlaced, FieldId::OrderGiven, FieldId::ScheduleStart};

void add_template(const Template& text, std::vector<NodeId>& roots) {
  for (const Template::Piece& piece : text.pieces)
    roots.push_back(piece.node);
}

/// What the question reads: conditions first, then what its texts show.
std::vector<NodeId> roots_of(const Rule& rule, const Hit& hit) {
  std::vector<NodeId> roots = conditions_of(rule, hit);
  const bool is_clause = hit.clause >= 0;
  const auto number = static_cast<std::size_t>(is_clause ? hit.clause : hit.without);
  add_template(is_clause ? rule.clauses[number].say : rule.withouts[number].say, roots);
  add_template(is_clause ? rule.clauses[number].ask : rule.withouts[number].ask, roots);
  return roots;
}

/// It has a value of its own that no field of the order settles alone.
bool counts_by_itself(const Program& program, const Node& node) {
  if (node.scoped) return false;
  switch (node.op) {
    case Op::Setting:
    case Op::LookUp:
    case Op::LookUpEvery:
    case Op::AnyRow:
    case Op::RecordField:
    case Op::RecordWritten:
    case Op::RecordWhen:
      return true;
    case Op::Query:
      return node.type != Type::Record && program.queries[node.a].source != QuerySource::List;
    default:  // all else comes from these and from fields
      return false;
  }
}

/// What people call it; several may be called the same.
std::string name_of(const Program& program, const Wording& wording, const Rule& rule, NodeId id) {
  std::string name(wording.name(rule, id));
  if (name.empty()) name = wording.text(rule, id);
  if (!name.empty()) return name;
  const Node& node = program.nodes[id];
  if (node.op == Op::RecordField || node.op == Op::RecordWritten) {
    return "earlier " + std::string(info(static_cast<FieldId>(node.a)).name);
  }
  return "a value of " + rule.name;
}

void add_other(const std::string& name, NodeId id,
               std::vector<std::pair<std::string, NodeId>>& others) {
  const auto known = [&](const std::string& text) {
    return std::any_of(others.begin(), others.end(),
                       [&](const auto& other) { return other.first == text; });
  };
  std::string free = name;
  for (int count = 2; known(free); ++count)
    free = name + " (" + std::to_string(count) + ")";
  others.emplace_back(std::move(free), id);
}

}  // namespace

/// `fields_by_node` has what stands behind engine values, derived ages and the day.
void QuestionReader::add_fields(const std::vector<NodeId>& roots, Parts& parts) {
  if (fields_by_node_.empty()) fields_by_node_ = slips::fields_by_node(program_);
  FieldSet named;
  NodeWalk walk(program_);
  for (const NodeId root : roots) {
    if (root == kNoNode) continue;
    parts.fields |= fields_by_node_[root];
    walk.from(root, [&](NodeId /*id*/, const Node& node) {
      if (node.op == Op::Field || node.op == Op::Written) named.set(node.a);
    });
  }
  for (const FieldId day : kDays) {
    if (!parts.fields.test(index(day)) || named.test(index(day))) continue;
    parts.fields.reset(index(day));
    parts.days.set(index(day));
  }
}

QuestionReader::Parts QuestionReader::make_parts(const Hit& hit) {
  const Rule& rule = program_.rules[hit.rule];
  Parts parts;
  parts.conditions = fingerprint(program_, rule, hit);
  const std::vector<NodeId> roots = roots_of(rule, hit);
  add_fields(roots, parts);
  if (hit.clause < 0) {
    for (const FieldId field : rule.withouts[static_cast<std::size_t>(hit.without)].fields)
      parts.fields.set(index(field));
  }
  const Wording wording(program_);
  NodeWalk walk(program_);
  for (const NodeId root : roots) {
    if (root == kNoNode) continue;
    walk.from(root, [&](NodeId id, const Node& node) {
      if (!counts_by_itself(program_, node)) return;
      add_other(name_of(program_, wording, rule, id), id, parts.others);
    });
  }
  return parts;
}

const QuestionReader::Parts& QuestionReader::parts_of(const Hit& hit) {
  const auto [at, fresh] = parts_.try_emplace({hit.rule, hit.clause, hit.without});
  if (fresh) at->second = make_parts(hit);
  return at->second;
}

void QuestionReader::add_field(const OrderFacts& facts, FieldId field) {
  const State state = facts.block->value(facts.lane, field).state;
  if (state == State::Missing) return;
  AnsweredValue& value = question_.values.emplace_back();
  value.name = info(field).name;
  value.text = one_writing(*facts.block, facts.lane, field);
}

const Question& QuestionReader::read(Scalar& scalar, const Hit& hit, QuestionScope scope) {
  const Parts& parts = parts_of(hit);
  const OrderFacts& facts = scalar.facts();
  FieldSet wanted = parts.fields;
  if (scope == QuestionScope::Order) wanted |= parts.days;
  const bool coded = facts.block->value(facts.lane, FieldId::SubstanceCode).known();
  wanted.set(index(coded ? FieldId::SubstanceCode : FieldId::SubstanceName));
  if (facts.block->value(facts.lane, FieldId::PatientBorn).known()) {
    wanted.reset(index(FieldId::PatientAge));
  }
  question_.conditions = parts.conditions;
  question_.values.clear();
  for (const FieldInfo& field : fields()) {
    if (wanted.test(index(field.id))) add_field(facts, field.id);
  }
  for (const auto& [name, id] : parts.others) {
    const bool none =
        program_.nodes[id].type != Type::Truth && scalar.value(id).state == State::None;
    std::optional<std::string> text = one_writing(scalar, id);
    if (none || text) question_.values.push_back({name, std::move(text)});
  }
  return question_;
}

}  // namespace meniscus::engine
