// Checks over the whole of one rule.
#include "grammar/lower/rule_checks.hpp"

#include <algorithm>
#include <optional>
#include <set>
#include <utility>

#include "grammar/lower/facts.hpp"
#include "grammar/lower/node_walk.hpp"

namespace meniscus::grammar {
namespace {

using engine::FieldId;
using engine::FieldSet;
using engine::Node;

/// What conditions read of the judged order.
struct Reads {
  FieldSet fields;
  std::set<std::uint32_t> settings;
  bool history = false;
};

void add_reads(const Node& node, const engine::Program& program, Reads& reads) {
  if (node.op == Op::Field || node.op == Op::Written) reads.fields.set(node.a);
  if (node.op == Op::Setting) reads.settings.insert(node.a);
  if (node.op == Op::Engine) {
    for (const engine::EngineValueInfo& info : engine::engine_values()) {
      if (static_cast<std::uint32_t>(info.id) != node.a) continue;
      for (const FieldId field : info.needs)
        reads.fields.set(index(field));
    }
  }
  if (node.op == Op::Query) {
    reads.history |= program.queries[node.a].source != engine::QuerySource::List;
  }
}

/// `is given` or `is missing` about a plain field; finds where it is written.
const Expr* find_question(const Expr& expr, std::string_view field) {
  const bool asks = expr.kind == ExprKind::IsGiven || expr.kind == ExprKind::IsMissing;
  if (asks && expr.kids[0]->text == field) return &expr;
  for (const ExprPtr& kid : expr.kids) {
    if (kid == nullptr) continue;
    if (const Expr* found = find_question(*kid, field)) return found;
  }
  return nullptr;
}

class RuleChecks {
 public:
  RuleChecks(Workspace& workspace, SourceId source, const Rule& ast, engine::Rule& rule)
      : w_(workspace), source_(source), ast_(ast), rule_(rule) {}

  void run() {
    collect();
    check_reachable();
    check_withouts();
    check_concerns();
  }

 private:
  void report(Mistake mistake) { w_.report.add(source_, std::move(mistake)); }

  void collect() {
    NodeWalk walk(*w_.program);
    const auto visit = [&](NodeId, const Node& node) { add_reads(node, *w_.program, reads_); };
    walk.from(rule_.concerns, visit);
    for (const engine::Clause& clause : rule_.clauses)
      walk.from(clause.when, visit);
    rule_.reads = reads_.fields;
    rule_.history = reads_.history;
  }

  void check_reachable() {
    for (std::size_t i = 1; i < rule_.clauses.size(); ++i) {
      if (const auto above = hiding(i)) report_unreachable(i, *above);
    }
  }

  /// The clause above that holds whenever clause `i` does, alone or with those above it.
  [[nodiscard]] std::optional<std::size_t> hiding(std::size_t i) const {
    const NodeId when = rule_.clauses[i].when;
    if (when == kNoNode) return std::nullopt;
    for (std::size_t j = 0; j < i; ++j) {
      const NodeId earlier = rule_.clauses[j].when;
      if (earlier != kNoNode && implies(*w_.program, when, earlier)) return j;
    }
    return hidden_by(*w_.program, rule_, i, Facts::Settings::Unknown);
  }

  void report_unreachable(std::size_t i, std::size_t above) {
    const std::string line = std::to_string(rule_.clauses[above].line);
    report({Code::R0420,
            ast_.clauses[i].when->span,
            "this clause can never be reached: the one in line " + line + " holds whenever it does",
            {{ast_.clauses[above].when->span, "holds first"}},
            "put the graver, narrower clause first"});
  }

  /// What a condition that could not be read would have read is not known.
  [[nodiscard]] bool all_read() const {
    return std::none_of(rule_.clauses.begin(), rule_.clauses.end(),
                        [](const engine::Clause& clause) { return clause.when == kNoNode; });
  }

  void check_withouts() {
    if (!all_read()) return;
    for (const Without& without : ast_.withouts) {
      for (const Name& name : without.names) {
        const auto field = engine::field_named(name.text);
        const auto setting = w_.names.find(Names::Kind::Setting, name.text);
        const bool read = field ? reads_.fields.test(index(*field))
                                : setting && reads_.settings.count(setting->index) > 0;
        if (read || (!field && !setting)) continue;  // an unknown name was reported
        report({Code::R0421,
                name.span,
                "no condition of this rule reads " + quoted(name.text),
                {},
                "leave it out, or read it in a clause"});
      }
    }
  }

  [[nodiscard]] bool answered(FieldId field) const {
    return std::any_of(rule_.withouts.begin(), rule_.withouts.end(),
                       [&](const engine::Without& without) {
                         return std::find(without.fields.begin(), without.fields.end(), field) !=
                                without.fields.end();
                       });
  }

  void check_concerns() {
    if (rule_.concerns == kNoNode) return;
    FieldSet asked;
    NodeWalk walk(*w_.program);
    walk.from(rule_.concerns, [&](NodeId, const Node& node) {
      if (node.op != Op::IsGiven && node.op != Op::IsMissing) return;
      const Node& about = w_.program->nodes[node.x];
      if (about.op == Op::Field) asked.set(about.a);
    });
    for (const engine::FieldInfo& field : engine::fields()) {
      if (!asked.test(index(field.id)) || answered(field.id)) continue;
      const Expr* question = find_question(*ast_.concerns, field.name);
      report({Code::R0422,
              question != nullptr ? question->span : ast_.concerns->span,
              "orders without " + quoted(field.name) + " are passed over in silence",
              {},
              "say so: `without " + std::string(field.name) + " ignore`, or raise something"});
    }
  }

  Workspace& w_;
  SourceId source_;
  const Rule& ast_;
  engine::Rule& rule_;
  Reads reads_;
};

}  // namespace

void check_rule(Workspace& workspace, SourceId source, const Rule& ast, engine::Rule& rule) {
  RuleChecks(workspace, source, ast, rule).run();
}

}  // namespace meniscus::grammar
