// Absences that nobody wrote a word about: a clause that asks whether a field is given and says
// nothing when it is not, a figure that stands in for a missing field, a field that no rule misses.
#include <map>
#include <string>
#include <string_view>

#include "grammar/lint/checks.hpp"
#include "grammar/lower/expression.hpp"
#include "grammar/lower/node_walk.hpp"

namespace meniscus::grammar {
namespace {

using engine::FieldId;
using engine::FieldSet;
using engine::Node;

/// The fields that some `without` of a rule answers for.
FieldSet answered(const engine::Rule& rule) {
  FieldSet fields;
  for (const engine::Without& without : rule.withouts) {
    for (const FieldId field : without.fields)
      fields.set(index(field));
  }
  return fields;
}

/// The fields whose absence a rule asks about in some clause.
FieldSet asked_about(const engine::Program& program, const engine::Rule& rule) {
  FieldSet fields;
  NodeWalk walk(program);
  for (const engine::Clause& clause : rule.clauses) {
    walk.from(clause.when, [&](NodeId, const Node& node) {
      if (node.op != Op::IsMissing) return;
      const Node& about = program.nodes[node.x];
      if (about.op == Op::Field) fields.set(about.a);
    });
  }
  return fields;
}

class AbsenceChecks {
 public:
  AbsenceChecks(Workspace& workspace, std::size_t index)
      : w_(workspace),
        program_(*workspace.program),
        rule_(program_.rules[index]),
        place_(workspace.rules[index]) {}

  void run() {
    // A condition about the absence itself is a word about it.
    silent_ = ~answered(rule_) & ~asked_about(program_, rule_) & ~needed_by_concerns();
    for (const engine::Clause& clause : rule_.clauses) {
      check_given(clause.when);
      NodeWalk walk(program_);
      walk.from(clause.when, [&](NodeId id, const Node& node) { check_stand_in(id, node); });
    }
  }

 private:
  /// Without these it is not known whether the rule is for the order: it is not assessed.
  [[nodiscard]] FieldSet needed_by_concerns() const {
    FieldSet fields;
    NodeWalk walk(program_);
    walk.from(rule_.concerns, [&](NodeId, const Node& node) {
      if (node.op == Op::IsGiven || node.op == Op::IsMissing) return;
      for (const NodeId kid : {node.x, node.y, node.z}) {
        if (kid == kNoNode) continue;
        const Node& about = program_.nodes[kid];
        if (about.op == Op::Field) fields.set(about.a);
      }
    });
    return fields;
  }

  void report(NodeId node, std::uint32_t field, const std::string& what) {
    if (!silent_.test(field)) return;
    const auto where = spelled(w_, node, place_.source, place_.ast->span);
    if (!where) return;
    silent_.reset(field);
    const std::string name(engine::info(static_cast<FieldId>(field)).name);
    w_.report.add(place_.source, {Code::R0604,
                                  *where,
                                  "where " + quoted(name) + " is missing, " + what,
                                  {},
                                  "say so: `without " + name + " ignore`, or raise something"});
  }

  /// `F is given and ...`: without F the whole clause is passed over.
  void check_given(NodeId id) {
    if (id == kNoNode) return;
    const Node& node = program_.nodes[id];
    if (node.op == Op::And) {
      check_given(node.x);
      check_given(node.y);
    }
    if (node.op != Op::IsGiven) return;
    const Node& about = program_.nodes[node.x];
    if (about.op == Op::Field) report(id, about.a, "this clause says nothing");
  }

  /// `F or else 70 kg`: a figure stands in for F.
  void check_stand_in(NodeId id, const Node& node) {
    if (node.op != Op::OrElse) return;
    const Node& about = program_.nodes[node.x];
    const Op other = program_.nodes[node.y].op;
    if (about.op != Op::Field || (other != Op::Constant && other != Op::Setting)) return;
    // These are one where nothing is said: docs/fields.md.
    const auto field = static_cast<FieldId>(about.a);
    if (field == FieldId::Injections || field == FieldId::ScheduleTimes) return;
    report(id, about.a, "another value stands in for it");
  }

  Workspace& w_;
  const engine::Program& program_;
  const engine::Rule& rule_;
  const RuleText& place_;
  FieldSet silent_;
};

/// A field that fewer rules read may be for special orders only; that it is absent then says
/// enough.
constexpr std::size_t kReaders = 3;

/// What an order leaves out where there is nothing to say: texts, lists, counts, yes or no, and the
/// upper end of a range of doses.
bool may_be_left_out(const engine::FieldInfo& field) {
  const Type type = type_of(field.kind);
  const bool said =
      type == Type::Quantity || type == Type::Word || type == Type::Gauge || type == Type::Date;
  return !said || field.kind == engine::FieldKind::Count || field.id == FieldId::DoseHigh;
}

/// Fields that several rules read and whose absence every one of them ignores.
class IgnoredFields {
 public:
  explicit IgnoredFields(Workspace& workspace) : w_(workspace) {}

  void run() {
    for (std::size_t i = 0; i < w_.rules.size(); ++i)
      read(i);
    for (const auto& [field, seen] : fields_)
      if (!seen.minded && seen.readers >= kReaders) report(seen);
  }

 private:
  struct Seen {
    bool minded = false;
    std::size_t readers = 0;
    SourceId source = 0;
    const Name* name = nullptr;  // in the first `without ... ignore`
  };

  void read(std::size_t i) {
    const engine::Rule& rule = w_.program->rules[i];
    const FieldSet asked = asked_about(*w_.program, rule);
    const auto ignored = ignored_by(*w_.rules[i].ast);
    for (const engine::FieldInfo& field : engine::fields()) {
      if (!rule.reads.test(index(field.id)) || may_be_left_out(field)) continue;
      Seen& seen = fields_[field.name];
      ++seen.readers;
      const auto at = ignored.find(field.name);
      seen.minded |= at == ignored.end() || asked.test(index(field.id));
      if (seen.minded || seen.name != nullptr) continue;
      seen.source = w_.rules[i].source;
      seen.name = at->second;
    }
  }

  static std::map<std::string_view, const Name*> ignored_by(const Rule& ast) {
    std::map<std::string_view, const Name*> ignored;
    for (const Without& without : ast.withouts) {
      for (const Name& name : without.names)
        if (without.ignore) ignored.emplace(name.text, &name);
    }
    return ignored;
  }

  void report(const Seen& seen) {
    w_.report.add(seen.source,
                  {Code::R0605,
                   seen.name->span,
                   "every rule that reads " + quoted(seen.name->text) + " ignores its absence",
                   {},
                   "let one rule raise something `without " + seen.name->text + "`"});
  }

  Workspace& w_;
  std::map<std::string_view, Seen> fields_;
};

}  // namespace

void check_absences(Workspace& workspace) {
  for (std::size_t i = 0; i < workspace.rules.size(); ++i)
    AbsenceChecks(workspace, i).run();
  IgnoredFields(workspace).run();
}

}  // namespace meniscus::grammar
