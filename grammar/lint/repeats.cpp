// A figure that stands in two rules beside the same value: it wants to be a setting.
#include <map>
#include <string>
#include <tuple>
#include <vector>

#include "grammar/lint/checks.hpp"
#include "grammar/lower/literals.hpp"

namespace meniscus::grammar {
namespace {

bool compares(ExprKind kind) {
  return kind == ExprKind::Less || kind == ExprKind::LessEqual || kind == ExprKind::Greater ||
         kind == ExprKind::GreaterEqual || kind == ExprKind::Between ||
         kind == ExprKind::DiffersBy || kind == ExprKind::ThinnerThan ||
         kind == ExprKind::WiderThan;
}

struct Place {
  std::size_t rule = 0;
  SourceId source = 0;
  engine::Span span;
};
/// The name that is compared, the figure in base units, its dimension.
using Figure = std::tuple<std::string, double, std::uint64_t>;

class Repeats {
 public:
  explicit Repeats(Workspace& workspace) : w_(workspace) {}

  void run() {
    for (rule_ = 0; rule_ < w_.rules.size(); ++rule_) {
      const Rule& ast = *w_.rules[rule_].ast;
      if (ast.concerns) read(*ast.concerns);
      for (const Let& let : ast.lets)
        if (let.value) read(*let.value);
      for (const Clause& clause : ast.clauses)
        if (clause.when) read(*clause.when);
    }
    for (const auto& [figure, places] : found_)
      report(figure, places);
  }

 private:
  void read(const Expr& expr) {
    if (compares(expr.kind) && expr.kids[0]->kind == ExprKind::Path) {
      for (std::size_t i = 1; i < expr.kids.size(); ++i)
        add(expr.kids[0]->text, *expr.kids[i]);
    }
    for (const ExprPtr& kid : expr.kids)
      if (kid) read(*kid);
  }

  void add(const std::string& name, const Expr& figure) {
    const bool common = engine::field_named(name) || w_.names.find(Names::Kind::Define, name);
    if (figure.kind != ExprKind::Quantity || !common) return;
    const auto literal = read_quantity_literal(figure.text);
    // None, one and the whole mean themselves.
    if (!literal || literal->value.number == 0 || literal->value.number == 1) return;
    found_[{name, literal->value.number, literal->value.aux}].push_back(
        {rule_, w_.rules[rule_].source, figure.span});
  }

  void report(const Figure& figure, const std::vector<Place>& places) {
    std::map<std::size_t, const Place*> first;  // by rule
    for (const Place& place : places)
      first.emplace(place.rule, &place);
    if (first.size() < 2) return;
    const Place& one = *first.begin()->second;
    const Place& next = *std::next(first.begin())->second;
    const std::string more =
        first.size() > 2 ? ", and in " + std::to_string(first.size() - 2) + " more" : "";
    w_.report.add(next.source, {Code::R0627,
                                next.span,
                                quoted(std::get<0>(figure)) + " is compared with " +
                                    quoted(written(w_, next.source, next.span)) + " in rule " +
                                    quoted(w_.program->rules[one.rule].name) + " too" + more,
                                {},
                                "make it a `setting`, so that it is changed in one place (" +
                                    w_.report.place(one.source, one.span) + ")"});
  }

  Workspace& w_;
  std::size_t rule_ = 0;
  std::map<Figure, std::vector<Place>> found_;
};

}  // namespace

void check_repeats(Workspace& workspace) { Repeats(workspace).run(); }

}  // namespace meniscus::grammar
