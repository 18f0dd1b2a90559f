// Conditions that are always so or never so, and clauses that the settings leave unreachable.
#include <set>
#include <utility>
#include <vector>

#include "grammar/lint/checks.hpp"
#include "grammar/lower/facts.hpp"
#include "grammar/lower/node_walk.hpp"

namespace meniscus::grammar {
namespace {

using engine::Node;
using engine::Span;

class ConditionChecks {
 public:
  ConditionChecks(Workspace& workspace, std::size_t index)
      : w_(workspace),
        program_(*workspace.program),
        rule_(program_.rules[index]),
        source_(workspace.rules[index].source),
        ast_(*workspace.rules[index].ast) {}

  void run() {
    check_parts();
    Facts facts(program_);
    if (rule_.concerns != kNoNode && !holds_together(rule_.concerns, facts, ast_.concerns->span)) {
      return;
    }
    for (std::size_t i = 0; i < rule_.clauses.size(); ++i)
      check_clause(i, facts);
  }

 private:
  void report(Code code, Span place, std::string message, std::vector<engine::Label> labels,
              std::string help) {
    if (!said_.insert(place.begin).second) return;
    w_.report.add(source_, {code, place, std::move(message), std::move(labels), std::move(help)});
  }
  /// Where a node stands: in `near`, if it does, else anywhere in the rule.
  [[nodiscard]] std::optional<Span> place(NodeId node, Span near) const {
    const auto inside = spelled(w_, node, source_, near);
    return inside ? inside : spelled(w_, node, source_, ast_.span);
  }
  [[nodiscard]] std::string text(Span span) const { return quoted(written(w_, source_, span)); }

  /// `site is site` within a query: one of the two was to be the earlier one's.
  [[nodiscard]] static bool is_with_itself(const Node& node) {
    const bool compares = node.op >= Op::Less && node.op <= Op::NotEqual;
    const bool asks =
        node.op == Op::SiteIn || node.op == Op::ThinnerThan || node.op == Op::WiderThan;
    return (compares || asks) && node.x != kNoNode && node.x == node.y;
  }
  void report_itself(NodeId id) {
    const Op op = program_.nodes[id].op;
    const bool always =
        op == Op::Equal || op == Op::LessEqual || op == Op::GreaterEqual || op == Op::SiteIn;
    const auto where = place(id, ast_.span);
    if (!where) return;
    report(always ? Code::R0601 : Code::R0602, *where,
           text(*where) + " compares a value with itself", {},
           "write what it is compared with; within a question to history that is `earlier.site` or "
           "`active.dose`, within a look-up `row.code`");
  }

  /// `site is not abdomen or site is not thigh`: all sides can never fail together.
  void check_either(NodeId id) {
    Facts facts(program_);
    if (facts.assume(id, Claim::Fails)) return;
    const auto where = place(id, ast_.span);
    if (!where) return;
    report(Code::R0601, *where, text(*where) + " holds for every order that gives the value", {},
           "one side always holds: write `and`, or `is not one of`, if neither is meant");
  }

  /// A comparison that is always so, or never, whatever stands beside it.
  void check_comparison(NodeId id, const Node& node, const Facts& nothing) {
    const auto decided = node.op == Op::Not ? std::nullopt : nothing.decide(id, true);
    const auto where = decided ? place(id, ast_.span) : std::nullopt;
    if (!where) return;
    if (*decided) {
      report(Code::R0601, *where, text(*where) + " holds for every order that gives the value", {},
             "leave it out, or mend the limit");
    } else {
      report(Code::R0602, *where, text(*where) + " can never hold: no order has such a value", {},
             node.op == Op::Between ? "the smaller end comes first: `between 1 mL and 2 mL`"
                                    : "mend the limit, or leave the condition out");
    }
  }

  /// Single comparisons, and the sides of an `or`.
  void check_parts() {
    const Facts nothing(program_);
    NodeWalk walk(program_);
    const auto visit = [&](NodeId id, const Node& node) {
      if (node.type != Type::Truth || node.op == Op::And) return;
      if (node.op == Op::Or) return check_either(id);
      if (is_with_itself(node)) return report_itself(id);
      check_comparison(id, node, nothing);
    };
    walk.from(rule_.concerns, visit);
    for (const engine::Clause& clause : rule_.clauses)
      walk.from(clause.when, visit);
    for (const auto& [name, node] : rule_.lets)
      walk.from(node, visit);
  }

  /// Assumes all parts of a condition; reports the part that cannot hold beside the others.
  bool holds_together(NodeId condition, Facts& facts, Span whole) {
    const std::vector<NodeId> parts = parts_of(program_, condition, Op::And);
    for (const NodeId part : parts) {
      if (facts.assume(part, Claim::Holds)) continue;
      report_clash(facts.clash(), place(part, whole).value_or(whole));
      return false;
    }
    for (const NodeId part : parts) {
      if (program_.nodes[part].op == Op::Or) check_choices(part, facts, whole);
    }
    return true;
  }

  /// Each side of an `or` must be possible beside what stands around it.
  void check_choices(NodeId condition, const Facts& facts, Span whole) {
    for (const NodeId choice : parts_of(program_, condition, Op::Or)) {
      Facts inside = facts;
      holds_together(choice, inside, place(choice, whole).value_or(whole));
    }
  }

  void report_clash(const Clash& clash, Span whole) {
    const Span where = place(clash.node, whole).value_or(whole);
    std::string message = text(where) + " can never hold here";
    std::vector<engine::Label> labels;
    const auto other = clash.other == kNoNode ? std::nullopt : place(clash.other, whole);
    std::string help = "mend one of the two, or write `or` if either is meant";
    if (other) {
      message += " beside " + text(*other);
      labels.push_back({*other, "not together"});
      const bool outside =
          ast_.concerns && other->begin >= ast_.concerns->span.begin &&
          other->end <= ast_.concerns->span.end &&
          (where.begin < ast_.concerns->span.begin || where.begin >= ast_.concerns->span.end);
      if (outside) help = "`concerns` lets no such order through: mend it, or leave this out";
    } else {
      help = "mend what stands beside it, or leave it out";
    }
    report(Code::R0602, where, std::move(message), std::move(labels), std::move(help));
  }

  void check_clause(std::size_t i, const Facts& concerned) {
    const Clause& ast = ast_.clauses[i];
    Facts facts = concerned;
    if (!holds_together(rule_.clauses[i].when, facts, ast.when->span)) return;
    check_needless(rule_.clauses[i].when, ast.when->span, concerned);
    const auto above = hidden_by(program_, rule_, i, Facts::Settings::AsSet);
    if (!above) return;
    const std::string line = std::to_string(rule_.clauses[*above].line);
    report(Code::R0603, ast.when->span,
           "with the settings as they are, this clause is never reached: the one in line " + line +
               " holds whenever it does",
           {{ast_.clauses[*above].when->span, "holds first"}},
           "change one of the settings, or put this clause first");
  }

  /// Parts of a clause that `concerns` has asked already.
  void check_needless(NodeId condition, Span whole, const Facts& concerned) {
    for (const NodeId part : parts_of(program_, condition, Op::And)) {
      const auto where = place(part, whole);
      if (!where || concerned.decide(part) != true) continue;
      report(Code::R0601, *where,
             text(*where) + " holds for every order that `concerns` lets through",
             {{ast_.concerns->span, "asked here"}}, "leave it out");
    }
  }

  Workspace& w_;
  const engine::Program& program_;
  const engine::Rule& rule_;
  SourceId source_;
  const Rule& ast_;
  std::set<std::uint32_t> said_;
};

}  // namespace

void check_conditions(Workspace& workspace) {
  for (std::size_t i = 0; i < workspace.rules.size(); ++i)
    ConditionChecks(workspace, i).run();
}

}  // namespace meniscus::grammar
