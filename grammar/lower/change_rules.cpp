// Local changes of rules: other grades, mutes, retirements.
#include <algorithm>
#include <utility>

#include "engine/quantity/calendar.hpp"
#include "grammar/lower/changes.hpp"
#include "grammar/lower/expression.hpp"
#include "grammar/lower/literals.hpp"

namespace meniscus::grammar {
namespace {

using engine::Grade;

/// Calls `each` with the grade of every clause and every `without` that raises.
template <class SomeRule, class F>
void each_grade(SomeRule& rule, F each) {
  for (auto& clause : rule.clauses)
    each(clause.grade);
  for (auto& without : rule.withouts) {
    if (!without.ignore) each(without.grade);
  }
}

bool raises(const engine::Rule& rule, Grade grade) {
  bool found = false;
  each_grade(rule, [&](Grade each) { found = found || each == grade; });
  return found;
}

bool raises_only(const engine::Rule& rule, Grade grade) {
  bool only = true;
  each_grade(rule, [&](Grade each) { only = only && each == grade; });
  return only;
}

/// A grade that becomes another in one rule.
struct Regrade {
  std::size_t rule = 0;
  Grade from{};
  Grade to{};
};

class RuleChanges {
 public:
  explicit RuleChanges(Workspace& workspace) : w_(workspace), rules_(workspace.program->rules) {}

  void run() {
    // What is asked about grades is asked of the shipped ones, but for mutes, which hide what is
    // raised in the end.
    for (const ActiveChange& change : w_.changes) {
      if (change.ast->kind == ChangeKind::Regrade) regrade(change);
      if (change.ast->kind == ChangeKind::Retire) retire(change);
    }
    apply_regrades();
    for (const ActiveChange& change : w_.changes) {
      if (change.ast->kind == ChangeKind::Mute) mute(change);
    }
  }

 private:
  void report(const ActiveChange& change, Mistake mistake) {
    w_.report.add(change.source, std::move(mistake));
  }

  void changes_nothing(const ActiveChange& change, std::string why) {
    report(change,
           {Code::R0515, change.ast->target.span, std::move(why), {}, "remove this change"});
  }

  /// A hold is touched only with the host's leave.
  bool may_touch_hold(const ActiveChange& change, Span span, std::string what) {
    if (w_.options.allow_mute_hold) return true;
    report(change, {Code::R0513,
                    span,
                    std::move(what),
                    {},
                    "a `hold` stands unless the program is run with `--allow-mute-hold`"});
    return false;
  }

  /// The rule that a change is about; nothing, and why, where there is none in force.
  std::optional<std::size_t> find(const ActiveChange& change) {
    const Name& name = change.ast->target;
    if (!target_of(w_, change)) return std::nullopt;
    const auto at = std::find_if(rules_.begin(), rules_.end(),
                                 [&](const engine::Rule& rule) { return rule.name == name.text; });
    if (at == rules_.end()) {
      changes_nothing(change, is_retired(w_, name)
                                  ? "rule " + quoted(name.text) + " is retired"
                                  : "rule " + quoted(name.text) + " is not in force on " +
                                        engine::format_day(w_.options.rules_day));
      return std::nullopt;
    }
    if (at->trial) {
      changes_nothing(change, "rule " + quoted(name.text) + " is on trial and never shown");
      return std::nullopt;
    }
    return static_cast<std::size_t>(at - rules_.begin());
  }

  void regrade(const ActiveChange& change) {
    const LocalChange& ast = *change.ast;
    const auto from = read_grade(w_.report, change.source, ast.from_grade);
    const auto to = read_grade(w_.report, change.source, ast.to_grade);
    const auto rule = find(change);
    if (!rule || !from || !to) return;
    if (!raises(rules_[*rule], *from)) {
      report(change,
             {Code::R0516,
              ast.from_grade.span,
              "rule " + quoted(ast.target.text) + " raises no " + quoted(ast.from_grade.text),
              {},
              "it raises " + grades_of(rules_[*rule])});
      return;
    }
    if (*from == *to) return changes_nothing(change, "both grades are the same");
    if (*from == Grade::Hold &&
        !may_touch_hold(change, ast.from_grade.span, "a `hold` would become milder")) {
      return;
    }
    regrades_.push_back({*rule, *from, *to});
  }

  static std::string grades_of(const engine::Rule& rule) {
    std::string text;
    for (const Grade grade : {Grade::Note, Grade::Caution, Grade::Clarify, Grade::Hold}) {
      if (!raises(rule, grade)) continue;
      if (!text.empty()) text += ", ";
      text += quoted(engine::name(grade));
    }
    return text;
  }

  void apply_regrades() {
    for (std::size_t i = 0; i < rules_.size(); ++i) {
      each_grade(rules_[i], [&](Grade& grade) {
        const auto at = std::find_if(regrades_.begin(), regrades_.end(), [&](const Regrade& each) {
          return each.rule == i && each.from == grade;
        });
        if (at != regrades_.end()) grade = at->to;
      });
    }
  }

  /// The rule itself was left out while rules were lowered; is that permitted?
  void retire(const ActiveChange& change) {
    const Name& name = change.ast->target;
    if (!target_of(w_, change)) return;
    bool holds = false;
    for (const Unit& unit : w_.units) {
      for (const Rule& rule : unit.file->rules) {
        if (rule.name.text != name.text) continue;
        each_grade(rule, [&](const auto& grade) { holds = holds || grade_text(grade) == "hold"; });
      }
    }
    if (holds) {
      may_touch_hold(change, name.span, "rule " + quoted(name.text) + " raises a `hold`");
    }
  }

  static std::string_view grade_text(const Name& grade) { return grade.text; }

  void mute(const ActiveChange& change) {
    const LocalChange& ast = *change.ast;
    const auto rule = find(change);
    engine::Mute mute{kNoNode, change.index};
    if (ast.scope) {
      Scope scope;
      scope.source = change.source;
      mute.scope = ExpressionLowering(w_, scope).condition(*ast.scope);
    }
    const bool lost = ast.scope && mute.scope == kNoNode;  // a mistake was reported
    if (!rule || lost) return;
    engine::Rule& target = rules_[*rule];
    if (!w_.options.allow_mute_hold && raises(target, Grade::Hold)) {
      if (raises_only(target, Grade::Hold)) {
        return changes_nothing(change, "rule " + quoted(ast.target.text) +
                                           " raises only `hold`, which is not muted without "
                                           "`--allow-mute-hold`");
      }
      w_.program->changes[change.index].note =
          "its findings of hold are still shown, without --allow-mute-hold";
    }
    target.mutes.push_back(mute);
  }

  Workspace& w_;
  std::vector<engine::Rule>& rules_;
  std::vector<Regrade> regrades_;
};

}  // namespace

void change_rules(Workspace& workspace) {
  workspace.program->mute_hold = workspace.options.allow_mute_hold;
  RuleChanges(workspace).run();
}

}  // namespace meniscus::grammar
