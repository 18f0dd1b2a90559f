// Rules: lets, concerns, clauses, withouts, texts and dates.
#include "grammar/lower/rules.hpp"

#include <utility>

#include "grammar/lower/expression.hpp"
#include "grammar/lower/rule_checks.hpp"

namespace meniscus::grammar {
namespace {

using engine::FieldId;
using engine::Grade;

class RuleLowering {
 public:
  RuleLowering(Workspace& workspace, const Unit& unit, const Rule& ast)
      : w_(workspace), source_(unit.source), ast_(ast), lowering_(workspace, scope()) {}

  void run() {
    const auto index = static_cast<std::uint32_t>(w_.program->rules.size());
    w_.names.declare(Names::Kind::Rule, ast_.name, source_, index);
    head();
    declare_lets();
    if (ast_.concerns) {
      rule_.concerns = lowering_.condition(*ast_.concerns);
      // A condition that could not be read must not look like "all orders".
      concerns_failed_ = rule_.concerns == kNoNode;
    }
    for (NamedValue& let : lets_) {
      rule_.lets.emplace_back(let.let->name.text, lowering_.named_value(let, let.let->name));
    }
    for (const Clause& clause : ast_.clauses)
      rule_.clauses.push_back(lower(clause));
    for (const Without& without : ast_.withouts)
      rule_.withouts.push_back(lower(without));
    if (!concerns_failed_) check_rule(w_, source_, ast_, rule_);
    // A trial rule is checked and left out: it must not reach the pharmacy.
    if (!ast_.trial) w_.program->rules.push_back(std::move(rule_));
  }

 private:
  Scope scope() {
    Scope scope;
    scope.source = source_;
    scope.lets = &lets_;
    return scope;
  }
  void report(Mistake mistake) { w_.report.add(source_, std::move(mistake)); }
  [[nodiscard]] std::uint32_t line(engine::Span span) const {
    return w_.report.source(source_)->locate(span.begin).line;
  }

  void head() {
    const auto& text = w_.report.source(source_);
    rule_.name = ast_.name.text;
    rule_.title = ast_.title;
    rule_.cite = ast_.cite;
    rule_.owner = ast_.owner;
    rule_.file = text->name();
    rule_.line = line(ast_.span);
    rule_.text = text->slice(ast_.span);
    const engine::Span reviewed = end_of(ast_.reviewed_span, ast_.reviewed);
    const engine::Span review_by = end_of(ast_.review_by_span, ast_.review_by);
    rule_.reviewed = date(ast_.reviewed, reviewed);
    rule_.review_by = date(ast_.review_by, review_by);
    if (rule_.reviewed && rule_.review_by && *rule_.review_by < *rule_.reviewed) {
      report({Code::R0423,
              review_by,
              "the next review lies before the last one",
              {{reviewed, "last review"}},
              ""});
    }
  }

  /// The date alone, without the word before it.
  static engine::Span end_of(engine::Span span, const std::string& text) {
    const auto size = static_cast<std::uint32_t>(text.size());
    return span.end - span.begin < size ? span : engine::Span{span.end - size, span.end};
  }

  std::optional<std::int64_t> date(const std::string& text, engine::Span span) {
    if (text.empty()) return std::nullopt;
    const auto date = engine::parse_date(text);
    if (date && date->precision == engine::Precision::Day) return date->day();
    report({Code::R0424,
            span,
            date ? "a date with year, month and day is needed" : date.error().message,
            {},
            "write it like `2026-05-01`"});
    return std::nullopt;
  }

  void declare_lets() {
    lets_.reserve(ast_.lets.size());
    for (const Let& let : ast_.lets) {
      bool good = w_.names.free_for_let(let.name, source_);
      for (const NamedValue& other : lets_) {
        if (other.let->name.text != let.name.text) continue;
        report_twice(w_.report, "let", let.name, source_, {0, source_, other.let->name.span});
        good = false;
      }
      if (good) lets_.push_back({&let, source_, kNoNode, Progress::Waiting});
    }
  }

  engine::Template lower(const Text& text) {
    engine::Template result;
    for (const TextPiece& piece : text.pieces) {
      engine::Template::Piece out;
      out.text = piece.text;
      if (piece.value) {
        out.node = lowering_.shown(*piece.value);
        if (out.node == kNoNode) continue;
        const engine::Node& node = w_.nodes[out.node];
        const bool plain = piece.value->kind == ExprKind::Path && node.op == Op::Field;
        if (plain) out.field = static_cast<FieldId>(node.a);
      }
      result.pieces.push_back(std::move(out));
    }
    return result;
  }

  Grade grade(const Name& name) {
    if (const auto known = engine::grade_named(name.text)) return *known;
    Nearest nearest(name.text);
    for (const std::string_view each : {"note", "caution", "clarify", "hold"})
      nearest.offer(each);
    report({Code::R0211,
            name.span,
            "no grade is named " + quoted(name.text),
            {},
            nearest.help("the grades are note, caution, clarify and hold")});
    return Grade::Hold;
  }

  std::optional<FieldId> field(const Name& name, bool or_setting) {
    const auto known = engine::field_named(name.text);
    if (known) return known;
    Nearest nearest(name.text);
    offer_fields(nearest);
    if (or_setting) w_.names.offer(Names::Kind::Setting, nearest);
    const std::string what = or_setting ? "no field or setting is named " : "no field is named ";
    report({Code::R0209,
            name.span,
            what + quoted(name.text),
            {},
            nearest.help("the fields are listed in docs/fields.md")});
    return std::nullopt;
  }

  engine::Clause lower(const Clause& ast) {
    engine::Clause clause;
    clause.grade = grade(ast.grade);
    clause.line = line(ast.span);
    if (ast.when) clause.when = lowering_.condition(*ast.when);
    clause.say = lower(ast.say);
    clause.ask = lower(ast.ask);
    for (const Name& name : ast.blames) {
      if (const auto blamed = field(name, false)) clause.blames.push_back(*blamed);
    }
    return clause;
  }

  engine::Without lower(const Without& ast) {
    engine::Without without;
    without.ignore = ast.ignore;
    without.line = line(ast.span);
    if (!ast.ignore) without.grade = grade(ast.grade);
    for (const Name& name : ast.names) {
      if (const auto setting = w_.names.find(Names::Kind::Setting, name.text)) {
        without.settings.push_back(setting->index);
      } else if (const auto absent = field(name, true)) {
        without.fields.push_back(*absent);
      }
    }
    without.say = lower(ast.say);
    without.ask = lower(ast.ask);
    return without;
  }

  Workspace& w_;
  SourceId source_;
  const Rule& ast_;
  std::vector<NamedValue> lets_;
  ExpressionLowering lowering_;
  engine::Rule rule_;
  bool concerns_failed_ = false;
};

}  // namespace

void lower_rules(Workspace& workspace) {
  for (const Unit& unit : workspace.units) {
    for (const Rule& rule : unit.file->rules)
      RuleLowering(workspace, unit, rule).run();
  }
}

}  // namespace meniscus::grammar
