// Contract: see lint.hpp.
#include "grammar/lint/lint.hpp"

#include <algorithm>

#include "grammar/lint/checks.hpp"

namespace meniscus::grammar {

void lint(Workspace& workspace) {
  for (const auto check :
       {check_conditions, check_group_words, check_absences, check_brackets, check_bands,
        check_unused, check_key_words, check_heads, check_repeats}) {
    check(workspace);
  }
}

namespace {

void add_parts(const engine::Program& program, NodeId id, Op op, std::vector<NodeId>& parts) {
  const engine::Node& node = program.nodes[id];
  if (node.op != op) return parts.push_back(id);
  add_parts(program, node.x, op, parts);
  add_parts(program, node.y, op, parts);
}

}  // namespace

void each_expression(const Workspace& workspace,
                     const std::function<void(SourceId, const Expr&)>& visit) {
  const auto read = [&](SourceId source, const ExprPtr& expr) {
    if (expr) visit(source, *expr);
  };
  for (const RuleText& rule : workspace.rules) {
    read(rule.source, rule.ast->concerns);
    for (const Let& let : rule.ast->lets)
      read(rule.source, let.value);
    for (const Clause& clause : rule.ast->clauses)
      read(rule.source, clause.when);
  }
  for (const Unit& unit : workspace.units)
    for (const Let& define : unit.file->defines)
      read(unit.source, define.value);
  for (const ActiveChange& change : workspace.changes)
    read(change.source, change.ast->scope);
}

std::vector<NodeId> parts_of(const engine::Program& program, NodeId condition, Op op) {
  std::vector<NodeId> parts;
  add_parts(program, condition, op, parts);
  return parts;
}

std::optional<engine::Span> spelled(const Workspace& workspace, NodeId node, SourceId source,
                                    engine::Span within) {
  const auto& all = workspace.program->spellings;
  auto at = std::lower_bound(
      all.begin(), all.end(), node,
      [](const engine::Spelling& spelling, NodeId wanted) { return spelling.node < wanted; });
  for (; at != all.end() && at->node == node; ++at) {
    const bool inside = at->span.begin >= within.begin && at->span.end <= within.end;
    if (at->source == source && inside) return at->span;
  }
  return std::nullopt;
}

std::string written(const Workspace& workspace, SourceId source, engine::Span span) {
  std::string text;
  for (const char c : workspace.report.source(source)->slice(span)) {
    const bool blank = c == ' ' || c == '\n' || c == '\r';
    if (!blank) text += c;
    if (blank && !text.empty() && text.back() != ' ') text += ' ';
  }
  return text;
}

}  // namespace meniscus::grammar
