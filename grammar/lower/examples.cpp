// Examples and local changes.
#include <utility>

#include "grammar/lower/expression.hpp"
#include "grammar/lower/rules.hpp"

namespace meniscus::grammar {
namespace {

using engine::Outcome;

class ExampleLowering {
 public:
  ExampleLowering(Workspace& workspace, SourceId source) : w_(workspace), source_(source) {}

  engine::Example lower(const Example& ast) {
    engine::Example example;
    const auto& text = w_.report.source(source_);
    example.title = ast.title;
    example.file = text->name();
    example.line = text->locate(ast.span.begin).line;
    example.order = order(ast.order);
    for (const auto& earlier : ast.earlier)
      example.earlier.push_back(order(earlier));
    for (const Expectation& each : ast.expectations) {
      example.expectations.push_back(expectation(each));
    }
    return example;
  }

  /// A change of the local policy: its target must exist.
  void check(const LocalChange& change) {
    Names::Kind kind = Names::Kind::Rule;
    if (change.kind == ChangeKind::Adjust) kind = Names::Kind::Setting;
    if (change.kind == ChangeKind::Extend) kind = Names::Kind::Table;
    Code code = Code::R0212;
    if (kind == Names::Kind::Setting) code = Code::R0201;
    if (kind == Names::Kind::Table) code = Code::R0207;
    known(kind, change.target, code);
    Scope scope;
    scope.source = source_;
    if (change.scope) ExpressionLowering(w_, scope).condition(*change.scope);
  }

 private:
  void report(Mistake mistake) { w_.report.add(source_, std::move(mistake)); }

  bool known(Names::Kind kind, const Name& name, Code code) {
    if (name.text.empty() || w_.names.find(kind, name.text)) return true;
    Nearest nearest(name.text);
    w_.names.offer(kind, nearest);
    static constexpr std::string_view kKinds[] = {"setting", "define", "table", "rule"};
    report({code,
            name.span,
            "no " + std::string(kKinds[static_cast<std::size_t>(kind)]) + " is named " +
                quoted(name.text),
            {},
            nearest.help()});
    return false;
  }

  engine::ExampleOrder order(const std::vector<ExampleField>& fields) {
    engine::ExampleOrder result;
    for (const ExampleField& each : fields) {
      const auto field = engine::field_named(each.field.text);
      if (field) {
        result.fields.push_back({*field, each.text.text});
        continue;
      }
      Nearest nearest(each.field.text);
      offer_fields(nearest);
      report({Code::R0209,
              each.field.span,
              "no field is named " + quoted(each.field.text),
              {},
              nearest.help("the fields are listed in docs/fields.md")});
    }
    return result;
  }

  engine::Expectation expectation(const Expectation& ast) {
    engine::Expectation result;
    result.rule = ast.rule.text;
    known(Names::Kind::Rule, ast.rule, Code::R0212);
    const std::string& what = ast.what.text;
    if (what == "nothing") {
      result.nothing = true;
    } else if (what == "clear") {
      result.outcome = Outcome::Clear;
    } else if (what == "incomplete") {
      result.outcome = Outcome::Incomplete;
    } else if (const auto grade = engine::grade_named(what)) {
      result.outcome = engine::outcome_of(*grade);
    } else {
      Nearest nearest(what);
      for (const std::string_view each :
           {"note", "caution", "clarify", "hold", "clear", "incomplete", "nothing"}) {
        nearest.offer(each);
      }
      report({Code::R0211,
              ast.what.span,
              "nothing is graded " + quoted(what),
              {},
              nearest.help("expect a grade, clear, incomplete or nothing")});
    }
    return result;
  }

  Workspace& w_;
  SourceId source_;
};

}  // namespace

void lower_examples(Workspace& workspace) {
  for (const Unit& unit : workspace.units) {
    ExampleLowering lowering(workspace, unit.source);
    for (const Example& example : unit.file->examples) {
      workspace.program->examples.push_back(lowering.lower(example));
    }
    for (const LocalChange& change : unit.file->changes)
      lowering.check(change);
  }
}

}  // namespace meniscus::grammar
