// `and` beside `or` without brackets, in rules, definitions and the scopes of mutes: people read it
// both ways, the language always as one.
#include "grammar/lint/checks.hpp"

namespace meniscus::grammar {
namespace {

class BracketChecks {
 public:
  BracketChecks(Workspace& workspace, SourceId source) : w_(workspace), source_(source) {}

  void read(const Expr* expr) {
    if (expr == nullptr) return;
    for (const ExprPtr& kid : expr->kids) {
      if (kid && expr->kind == ExprKind::Or && kid->kind == ExprKind::And && !in_brackets(*kid))
        report(*kid);
      read(kid.get());
    }
  }

 private:
  /// Brackets belong to the span of what they hold; without them it begins with its first part.
  [[nodiscard]] static bool in_brackets(const Expr& both) {
    return both.span.begin < both.kids.front()->span.begin;
  }
  void report(const Expr& both) {
    w_.report.add(source_, {Code::R0606,
                            both.span,
                            "`and` is taken together before the `or` beside it",
                            {},
                            "put brackets around what belongs together: " +
                                quoted("(" + written(w_, source_, both.span) + ")") +
                                " is what is done now"});
  }

  Workspace& w_;
  SourceId source_;
};

}  // namespace

void check_brackets(Workspace& workspace) {
  for (const RuleText& rule : workspace.rules) {
    BracketChecks checks(workspace, rule.source);
    checks.read(rule.ast->concerns.get());
    for (const Let& let : rule.ast->lets)
      checks.read(let.value.get());
    for (const Clause& clause : rule.ast->clauses)
      checks.read(clause.when.get());
  }
  for (const Unit& unit : workspace.units) {
    BracketChecks checks(workspace, unit.source);
    for (const Let& define : unit.file->defines)
      checks.read(define.value.get());
  }
  for (const ActiveChange& change : workspace.changes)
    BracketChecks(workspace, change.source).read(change.ast->scope.get());
}

}  // namespace meniscus::grammar
