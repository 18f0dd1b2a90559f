// Walks conditions as the evaluator did (contract: decide.hpp).
#include "engine/explain/decide.hpp"

#include "engine/eval/access.hpp"

namespace meniscus::engine {
namespace {

class Walk {
 public:
  explicit Walk(Scalar& scalar) : scalar_(scalar) {}

  void condition(NodeId id, NodeId shown) {
    const Node& node = scalar_.program().nodes[id];
    if (node.op == Op::Not) return condition(node.x, negated_group(node.x) ? kNoNode : id);
    if (node.op == Op::And || node.op == Op::Or) return group(id, node.op);
    out_.push_back(
        {id, shown == kNoNode ? id : shown, scalar_.truth(shown == kNoNode ? id : shown)});
  }

  std::vector<Decided> take() { return std::move(out_); }

 private:
  [[nodiscard]] bool negated_group(NodeId id) const {
    const Op op = scalar_.program().nodes[id].op;
    return op == Op::And || op == Op::Or || op == Op::Not;
  }

  /// The parts of a chain of one connective, in the order in which they stand.
  void parts(NodeId id, Op op, std::vector<NodeId>& out) const {
    const Node& node = scalar_.program().nodes[id];
    if (node.op != op) return out.push_back(id);
    parts(node.x, op, out);
    parts(node.y, op, out);
  }

  void group(NodeId id, Op op) {
    std::vector<NodeId> all;
    parts(id, op, all);
    const Truth truth = scalar_.truth(id);
    const bool each = truth == (op == Op::And ? Truth::True : Truth::False);
    for (const NodeId part : all) {
      if (!each && scalar_.truth(part) != truth) continue;
      condition(part, kNoNode);
      if (!each) return;
    }
  }

  Scalar& scalar_;
  std::vector<Decided> out_;
};

void append(std::vector<Decided>& out, std::vector<Decided> more) {
  out.insert(out.end(), more.begin(), more.end());
}

/// The first clause that could not be decided and that nothing as grave stands in for.
std::optional<std::uint32_t> open_clause(Scalar& scalar, const Rule& rule) {
  for (std::uint32_t i = 0; i < rule.clauses.size(); ++i) {
    const Truth truth = scalar.truth(rule.clauses[i].when);
    if (truth == Truth::True) return std::nullopt;
    if (truth == Truth::Unknown) return i;
  }
  return std::nullopt;
}

}  // namespace

std::vector<Decided> deciding(Scalar& scalar, NodeId condition) {
  Walk walk(scalar);
  walk.condition(condition, kNoNode);
  return walk.take();
}

RuleAnswer answer_of(Scalar& scalar, std::uint32_t rule, const FieldSet& never, RunScratch& scratch,
                     RunResult& result) {
  const Program& program = scalar.program();
  const Rule& r = program.rules[rule];
  result.clear();
  LaneAccess access{program, scalar};
  const Lanes bit = Lanes{1} << scalar.facts().lane;
  RuleRun<LaneAccess>(program, access, never, scratch, result).run(rule, bit);
  RuleAnswer answer;
  if (!result.hits.empty()) {
    const Hit& hit = result.hits.front();
    answer.end = RuleEnd::Fired;
    if (hit.clause >= 0) answer.clause = static_cast<std::uint32_t>(hit.clause);
    if (hit.without >= 0) answer.without = static_cast<std::uint32_t>(hit.without);
    answer.grade =
        answer.clause ? r.clauses[*answer.clause].grade : r.withouts[*answer.without].grade;
    answer.also_undecided = !result.undecided.empty();
    return answer;
  }
  const Truth about = r.concerns == kNoNode ? Truth::True : scalar.truth(r.concerns);
  const bool closed = about == Truth::False || about == Truth::Void;
  if (closed) {
    answer.end = RuleEnd::NotAbout;
    return answer;
  }
  if (about == Truth::True) answer.clause = open_clause(scalar, r);
  const bool open = about == Truth::Unknown || answer.clause.has_value();
  answer.end = !open                      ? RuleEnd::Clear
               : result.undecided.empty() ? RuleEnd::Ignored
                                          : RuleEnd::Undecided;
  return answer;
}

std::vector<Decided> reasons(Scalar& scalar, std::uint32_t rule, const RuleAnswer& answer) {
  const Rule& r = scalar.program().rules[rule];
  std::vector<Decided> out;
  switch (answer.end) {
    case RuleEnd::Fired:
      if (answer.clause) return deciding(scalar, r.clauses[*answer.clause].when);
      if (r.concerns != kNoNode && scalar.truth(r.concerns) == Truth::Unknown) {
        return deciding(scalar, r.concerns);
      }
      if (const auto open = open_clause(scalar, r)) return deciding(scalar, r.clauses[*open].when);
      return out;
    case RuleEnd::NotAbout:
      return deciding(scalar, r.concerns);
    case RuleEnd::Undecided:
    case RuleEnd::Ignored:
      return deciding(scalar, answer.clause ? r.clauses[*answer.clause].when : r.concerns);
    case RuleEnd::Clear:
      for (const Clause& clause : r.clauses)
        append(out, deciding(scalar, clause.when));
      return out;
  }
  return out;
}

}  // namespace meniscus::engine
