// Absences that nobody wrote a word about: a clause that asks whether a field is given and says
// nothing when it is not, a figure that stands in for a missing field, a field that no rule misses.
#include <algorithm>
#include <map>
#include <set>
#include <vector>

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
    silent_ = ~answered(rule_) & ~asked_about(program_, rule_);
    for (const engine::Clause& clause : rule_.clauses) {
      check_given(clause.when);
      NodeWalk walk(program_);
      walk.from(clause.when, [&](NodeId id, const Node& node) { check_stand_in(id, node); });
    }
  }

 private:
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
void check_ignored(Workspace& w) {
  struct Seen {
    bool minded = false;
    std::size_t readers = 0;
    SourceId source = 0;
    const Name* name = nullptr;
  };
  std::map<std::uint32_t, Seen> fields;
  for (std::size_t i = 0; i < w.rules.size(); ++i) {
    const engine::Rule& rule = w.program->rules[i];
    const FieldSet asked = asked_about(*w.program, rule);
    std::map<std::string, const Name*> ignored;
    for (const Without& without : w.rules[i].ast->withouts) {
      for (const Name& name : without.names)
        if (without.ignore) ignored.emplace(name.text, &name);
    }
    for (const engine::FieldInfo& field : engine::fields()) {
      if (!rule.reads.test(index(field.id)) || may_be_left_out(field)) continue;
      Seen& seen = fields[static_cast<std::uint32_t>(index(field.id))];
      ++seen.readers;
      const auto at = ignored.find(std::string(field.name));
      if (at == ignored.end() || asked.test(index(field.id))) {
        seen.minded = true;
      } else if (seen.name == nullptr) {
        seen.source = w.rules[i].source;
        seen.name = at->second;
      }
    }
  }
  for (const auto& [field, seen] : fields) {
    if (seen.minded || seen.readers < kReaders) continue;
    w.report.add(seen.source,
                 {Code::R0605,
                  seen.name->span,
                  "every rule that reads " + quoted(seen.name->text) + " ignores its absence",
                  {},
                  "let one rule raise something `without " + seen.name->text + "`"});
  }
}

}  // namespace

void check_absences(Workspace& workspace) {
  for (std::size_t i = 0; i < workspace.rules.size(); ++i)
    AbsenceChecks(workspace, i).run();
  check_ignored(workspace);
}

}  // namespace meniscus::grammar
