// `and` beside `or` without brackets, in rules, definitions and the scopes of mutes: people read it
// both ways, the language always as one.
#include "grammar/lint/checks.hpp"

namespace meniscus::grammar {
namespace {

class BracketChecks {
 public:
  BracketChecks(Workspace& workspace, SourceId source) : w_(workspace), source_(source) {}

  void read(const Expr& expr) {
    for (const ExprPtr& kid : expr.kids) {
      if (!kid) continue;
      if (expr.kind == ExprKind::Or && kid->kind == ExprKind::And && !in_brackets(*kid))
        report(*kid);
      read(*kid);
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
  each_expression(workspace, [&](SourceId source, const Expr& expr) {
    BracketChecks(workspace, source).read(expr);
  });
}

}  // namespace meniscus::grammar
