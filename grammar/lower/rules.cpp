// Rules: lets, concerns, clauses, withouts, texts and dates.
#include "grammar/lower/rules.hpp"

#include <array>
#include <utility>

#include "grammar/lower/changes.hpp"
#include "grammar/lower/expression.hpp"
#include "grammar/lower/literals.hpp"
#include "grammar/lower/rule_checks.hpp"
#include "grammar/lower/versions.hpp"

namespace meniscus::grammar {
namespace {

using engine::FieldId;
using engine::Grade;

class RuleLowering {
 public:
  RuleLowering(Workspace& workspace, const Unit& unit, const Rule& ast)
      : w_(workspace), source_(unit.source), ast_(ast), lowering_(workspace, scope()) {}

  /// A rule in force, into the program.
  void run() {
    declare();
    read();
    const auto trial = w_.trials.find(&ast_);
    if (trial != w_.trials.end()) rule_.trial = trial->second;
    w_.program->rules.push_back(std::move(rule_));
    w_.rules.push_back({source_, &ast_});
  }

  /// One that is not in force, or retired: checked, and, where no version of it is in force, its
  /// head and text kept for people.  A version whose time is over is not even checked.
  void set_aside() {
    if (standing(w_, ast_) == Standing::Over) {
      head();
    } else {
      read();
    }
    if (w_.aside.count(&ast_) == 0) return;
    rule_.concerns = kNoNode;
    rule_.clauses.clear();
    rule_.withouts.clear();
    rule_.lets.clear();
    w_.program->aside.push_back(std::move(rule_));
  }

 private:
  void declare() {
    const auto index = static_cast<std::uint32_t>(w_.program->rules.size());
    w_.names.declare(Names::Kind::Rule, ast_.name, source_, index);
  }

  void read() {
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
  }

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
    rule_.reviewed = read_day(w_.report, source_, {ast_.reviewed, reviewed});
    rule_.review_by = read_day(w_.report, source_, {ast_.review_by, review_by});
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
    return read_grade(w_.report, source_, name).value_or(Grade::Hold);
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

namespace {

bool is_in_force(const Workspace& workspace, const Rule& rule) {
  return standing(workspace, rule) == Standing::InForce && !is_retired(workspace, rule.name);
}

/// The names of rules without a version in force are known too.
void declare_others(Workspace& workspace) {
  for (const Standing wanted : {Standing::InForce, Standing::Later, Standing::Over}) {
    for (const Unit& unit : workspace.units) {
      for (const Rule& rule : unit.file->rules) {
        if (is_in_force(workspace, rule) || standing(workspace, rule) != wanted) continue;
        if (workspace.names.find(Names::Kind::Rule, rule.name.text)) continue;
        workspace.names.declare(Names::Kind::Rule, rule.name, unit.source, 0);
        workspace.aside.insert(&rule);
      }
    }
  }
}

}  // namespace

void lower_rules(Workspace& workspace) {
  for (const Unit& unit : workspace.units) {
    for (const Rule& rule : unit.file->rules) {
      if (is_in_force(workspace, rule)) RuleLowering(workspace, unit, rule).run();
    }
  }
  declare_others(workspace);
}

void set_rules_aside(Workspace& workspace) {
  workspace.needed_tables = workspace.uses.tables;
  engine::Program& program = *workspace.program;
  const std::array sizes = {program.nodes.size(),    program.constants.size(),
                            program.lists.size(),    program.patterns.size(),
                            program.lookups.size(),  program.queries.size(),
                            program.spellings.size()};
  for (const Unit& unit : workspace.units) {
    for (const Rule& rule : unit.file->rules) {
      if (is_in_force(workspace, rule)) continue;
      RuleLowering(workspace, unit, rule).set_aside();
    }
  }
  // What only they needed leaves no trace.
  program.nodes.resize(sizes[0]);
  program.constants.resize(sizes[1]);
  program.lists.resize(sizes[2]);
  program.patterns.resize(sizes[3]);
  program.lookups.resize(sizes[4]);
  program.queries.resize(sizes[5]);
  program.spellings.resize(sizes[6]);
}

}  // namespace meniscus::grammar
