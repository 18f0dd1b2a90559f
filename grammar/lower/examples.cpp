// Examples.
#include <algorithm>
#include <utility>

#include "grammar/lower/changes.hpp"
#include "grammar/lower/rules.hpp"
#include "grammar/lower/versions.hpp"

namespace meniscus::grammar {
namespace {

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

 private:
  void report(Mistake mistake) { w_.report.add(source_, std::move(mistake)); }

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
    static_cast<void>(w_.names.known(Names::Kind::Rule, ast.rule, source_));  // says what is wrong
    const std::string& what = ast.what.text;
    if (!engine::set_expected(result, what)) {
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

namespace {

/// The rule that an example's name means: the version that stands before it in its file, else the
/// one in force.
bool means_a_rule_set_aside(const Workspace& workspace, const Unit& unit, const Example& example,
                            const Name& name) {
  const auto is_aside = [&](const Rule& rule) {
    return standing(workspace, rule) != Standing::InForce || is_retired(workspace, rule.name);
  };
  const Rule* beside = nullptr;
  for (const Rule& rule : unit.file->rules) {
    const bool before = rule.span.begin < example.span.begin;
    if (rule.name.text == name.text && (before || beside == nullptr)) beside = &rule;
  }
  if (beside != nullptr) return is_aside(*beside);
  const auto& aside = workspace.program->aside;
  return std::any_of(aside.begin(), aside.end(),
                     [&](const engine::Rule& rule) { return rule.name == name.text; });
}

}  // namespace

void lower_examples(Workspace& workspace) {
  for (const Unit& unit : workspace.units) {
    ExampleLowering lowering(workspace, unit.source);
    for (const Example& example : unit.file->examples) {
      engine::Example lowered = lowering.lower(example);
      const bool idle = std::any_of(
          example.expectations.begin(), example.expectations.end(), [&](const Expectation& each) {
            return means_a_rule_set_aside(workspace, unit, example, each.rule);
          });
      if (!idle) workspace.program->examples.push_back(std::move(lowered));
    }
  }
}

}  // namespace meniscus::grammar
