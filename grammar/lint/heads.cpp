// What belongs to a rule beside its conditions: source, owner, review, examples, texts with values.
#include <algorithm>
#include <set>
#include <string>

#include "engine/quantity/calendar.hpp"
#include "grammar/lint/checks.hpp"

namespace meniscus::grammar {
namespace {

using engine::Node;

/// A quantity, gauge or date of the order, or what is worked out from some.
bool is_measured(const engine::Program& program, NodeId id) {
  if (id == kNoNode) return false;
  const Node& node = program.nodes[id];
  if (node.op == Op::Field) {
    return node.type == Type::Quantity || node.type == Type::Gauge || node.type == Type::Date;
  }
  const bool sum = node.op >= Op::Negate && node.op <= Op::DateAfter;
  return sum && (is_measured(program, node.x) || is_measured(program, node.y));
}

/// It holds only where a measured value is compared, and is not about something that is absent.
bool compares_amounts(const engine::Program& program, NodeId when) {
  bool amounts = false;
  for (const NodeId part : parts_of(program, when, Op::And)) {
    const bool reversed = program.nodes[part].op == Op::Not;
    const Node& node = program.nodes[reversed ? program.nodes[part].x : part];
    if (node.op == Op::IsMissing || node.op == Op::IsNone || (reversed && node.op == Op::IsGiven)) {
      return false;
    }
    const bool compares = node.op >= Op::Less && node.op <= Op::WiderThan;
    amounts |= compares && (is_measured(program, node.x) || is_measured(program, node.y));
  }
  return amounts;
}

bool shows_a_value(const engine::Template& text) {
  return std::any_of(text.pieces.begin(), text.pieces.end(),
                     [](const engine::Template::Piece& piece) { return piece.node != kNoNode; });
}

class HeadChecks {
 public:
  HeadChecks(Workspace& workspace, std::size_t index, const std::set<std::string>& tested)
      : w_(workspace),
        rule_(workspace.program->rules[index]),
        place_(workspace.rules[index]),
        tested_(tested) {}

  void run() {
    const std::string name = quoted(rule_.name);
    if (rule_.cite.empty()) {
      report(Code::R0621, "rule " + name + " names no source",
             "add `cite \"...\"`: a publication, your policy, or `common practice`");
    }
    if (rule_.owner.empty()) {
      report(Code::R0622, "nobody answers for rule " + name,
             "add `owner \"...\"`: a role, such as `lead nurse`");
    }
    if (!rule_.reviewed || !rule_.review_by) {
      report(Code::R0623, "rule " + name + " does not say when it was reviewed, or will be",
             "add `reviewed DATE review by DATE`");
    }
    if (tested_.count(rule_.name) == 0) {
      report(Code::R0624, "no example tests rule " + name,
             "add an `example` with `expect ... from " + rule_.name + "`");
    }
    check_review();
    for (std::size_t i = 0; i < rule_.clauses.size(); ++i)
      check_say(i);
  }

 private:
  void report(Code code, std::string message, std::string help) {
    w_.report.add(place_.source,
                  {code, place_.ast->name.span, std::move(message), {}, std::move(help)});
  }

  void check_review() {
    if (!rule_.review_by || *rule_.review_by >= w_.options.rules_day) return;
    const std::string owner = rule_.owner.empty() ? "its owner" : "the " + rule_.owner;
    w_.report.add(place_.source,
                  {Code::R0626,
                   place_.ast->review_by_span,
                   "the review of rule " + quoted(rule_.name) + " was due by " +
                       engine::format_day(*rule_.review_by),
                   {},
                   "let " + owner + " look at it again, then write both dates anew"});
  }

  /// A sentence about amounts says which amounts.
  void check_say(std::size_t i) {
    const engine::Clause& clause = rule_.clauses[i];
    if (shows_a_value(clause.say) || !compares_amounts(*w_.program, clause.when)) return;
    w_.report.add(place_.source,
                  {Code::R0625,
                   place_.ast->clauses[i].say.span,
                   "this sentence shows no value of the order",
                   {},
                   "show what was found and what is usual, as in `{volume} is over {limit}`"});
  }

  Workspace& w_;
  const engine::Rule& rule_;
  const RuleText& place_;
  const std::set<std::string>& tested_;
};

}  // namespace

void check_heads(Workspace& workspace) {
  std::set<std::string> tested = workspace.options.tested;
  for (const engine::Example& example : workspace.program->examples) {
    for (const engine::Expectation& expectation : example.expectations)
      tested.insert(expectation.rule);
  }
  for (std::size_t i = 0; i < workspace.rules.size(); ++i)
    HeadChecks(workspace, i, tested).run();
}

}  // namespace meniscus::grammar
