// Contract: see examples.hpp.
#include "adapters/rules/examples.hpp"

#include <algorithm>
#include <set>
#include <tuple>
#include <utility>

#include "adapters/rules/example_orders.hpp"
#include "engine/eval/checker.hpp"
#include "engine/eval/facts.hpp"
#include "engine/history/history.hpp"

namespace meniscus::adapters {

namespace {
using engine::Example;
using engine::Expectation;
using engine::FieldId;
using engine::Finding;
using engine::OrderBlock;
using engine::Outcome;
using engine::Program;
using engine::RuleEnd;
using engine::Scalar;
using engine::Verdict;
/// Rule, line of its `without` or 0, number of its clause or 0.
using ClauseSet = std::set<std::tuple<std::string_view, std::uint32_t, std::size_t>>;

bool not_assessed(const Verdict& verdict, std::string_view rule) {
  return std::any_of(
      verdict.not_assessed.begin(), verdict.not_assessed.end(), [&](const auto& entry) {
        return std::find(entry.rules.begin(), entry.rules.end(), rule) != entry.rules.end();
      });
}

/// Appends what stands of `rule` in a list of findings, with `word` before each.
template <class List>
void append_found(std::string& text, const List& list, std::string_view rule,
                  std::string_view word) {
  for (const auto& found : list) {
    if (found.rule != rule) continue;
    if (!text.empty()) text += " and ";
    text += word;
    text += engine::name(found.grade);
    text += " (\"" + found.say + "\")";
  }
}

/// What one rule gave, in words.
std::string given_by(const Verdict& verdict, std::string_view rule) {
  std::string text;
  append_found(text, verdict.findings, rule, "");
  append_found(text, verdict.trial, rule, "on trial ");
  append_found(text, verdict.muted, rule, "muted ");
  for (const auto& entry : verdict.not_assessed) {
    if (std::find(entry.rules.begin(), entry.rules.end(), rule) == entry.rules.end()) continue;
    if (!text.empty()) text += "; ";
    text += "not assessed, " + entry.missing + " missing";
  }
  return text.empty() ? "nothing" : text;
}

std::string given_by_order(const Verdict& verdict) {
  std::string text(engine::name(verdict.outcome));
  for (const Finding& finding : verdict.findings) {
    text += "; ";
    text += engine::name(finding.grade);
    text += " from ";
    text += finding.rule;
    text += " (\"" + finding.say + "\")";
  }
  for (const auto& entry : verdict.not_assessed) {
    if (entry.grave) text += "; not assessed, " + entry.missing + " missing";
  }
  return text;
}

/// Whether the rule found something of a grade that `fits`, on trial or not.
template <class Fits>
bool found_by(const Verdict& verdict, std::string_view rule, Fits fits) {
  const auto is = [&](const auto& found) { return found.rule == rule && fits(found.grade); };
  return std::any_of(verdict.findings.begin(), verdict.findings.end(), is) ||
         std::any_of(verdict.trial.begin(), verdict.trial.end(), is);
}

bool holds_for_rule(const Expectation& expectation, const Verdict& verdict) {
  const std::string& rule = expectation.rule;
  const bool found = found_by(verdict, rule, [](engine::Grade) { return true; });
  if (expectation.nothing) return !found;
  if (*expectation.outcome == Outcome::Clear) return !found && !not_assessed(verdict, rule);
  if (*expectation.outcome == Outcome::Incomplete) return not_assessed(verdict, rule);
  return found_by(verdict, rule, [&](engine::Grade grade) {
    return engine::outcome_of(grade) == *expectation.outcome;
  });
}

bool holds(const Expectation& expectation, const Verdict& verdict) {
  if (!expectation.rule.empty()) return holds_for_rule(expectation, verdict);
  if (expectation.nothing) return verdict.findings.empty();
  return verdict.outcome == *expectation.outcome;
}

/// The rule that a failure is about: the one that the expectation names, else the first that spoke.
std::optional<std::uint32_t> rule_in_question(const Program& program,
                                              const Expectation& expectation,
                                              const Verdict& verdict) {
  std::string_view name = expectation.rule;
  if (name.empty() && !verdict.findings.empty()) name = verdict.findings.front().rule;
  for (std::uint32_t i = 0; i < program.rules.size(); ++i)
    if (program.rules[i].name == name) return i;
  return std::nullopt;
}

/// The condition that the writer should look at: of the clause that was to speak and did not, or of
/// what spoke instead.
std::vector<engine::Decided> in_question(Scalar& scalar, std::uint32_t number,
                                         const Expectation& expectation,
                                         const engine::RuleAnswer& answer) {
  const engine::Rule& rule = scalar.program().rules[number];
  const bool about = answer.end == RuleEnd::Clear || answer.end == RuleEnd::Fired;
  if (about && expectation.outcome) {
    for (std::uint32_t i = 0; i < rule.clauses.size(); ++i) {
      if (answer.clause && i >= *answer.clause) break;  // what held came first
      if (engine::outcome_of(rule.clauses[i].grade) != *expectation.outcome) continue;
      return engine::deciding(scalar, rule.clauses[i].when);
    }
  }
  return engine::reasons(scalar, number, answer);
}

class Runner {
 public:
  explicit Runner(std::shared_ptr<const Program> program)
      : program_(std::move(program)),
        orders_(*program_),
        checker_(program_, without_slips()),
        scalar_(*program_),
        why_(*program_) {}

  ExampleResult run(const Example& example, ClauseSet& fired) {
    ExampleResult result;
    result.example = &example;
    judge(example,
          [&](const Verdict& verdict, const engine::Days& days, const engine::History& history) {
            for (const Finding& finding : verdict.findings)
              note(finding, fired);
            for (const Expectation& expectation : example.expectations) {
              if (holds(expectation, verdict)) continue;
              begin(verdict.lane, days, history);
              result.failures.push_back(failure(expectation, verdict));
            }
          });
    return result;
  }

  /// Calls `report` with the verdict of the example's order, while history has what came before it.
  template <class Report>
  void judge(const Example& example, const Report& report) {
    const engine::Days days{example.as_of, day_of(example)};
    checker_.set_days(days);
    engine::History history(program_->look_back, program_->history_fields,
                            program_->history_written);
    unsigned judged = engine::kLanes;
    const auto check = [&] {
      checker_.check(block_, history, [&](const Verdict& verdict) {
        if (verdict.lane == judged) report(verdict, days, history);
      });
      block_.clear();
    };
    block_.clear();
    for (std::size_t i = 0; i < example.earlier.size(); ++i) {
      if (block_.full()) check();
      const std::string_view id = block_.keep("earlier-" + std::to_string(i + 1));
      orders_.add(block_, example.earlier[i], id, true);
    }
    if (block_.full()) check();
    judged = block_.size();
    orders_.add(block_, example.order, "example", !example.earlier.empty());
    check();
  }

 private:
  static engine::CheckOptions without_slips() {
    engine::CheckOptions options;
    options.slips = false;
    return options;
  }

  void note(const Finding& finding, ClauseSet& fired) const {
    if (finding.clause > 0) {
      fired.insert({finding.rule, 0, finding.clause});
      return;
    }
    for (const engine::Rule& rule : program_->rules) {
      if (rule.name != finding.rule) continue;
      for (const engine::Without& without : rule.withouts) {
        // A finding does not say which `without` it is of; its fields and grade do.
        const bool same =
            !without.ignore && without.grade == finding.grade &&
            std::all_of(finding.fields.begin(), finding.fields.end(),
                        [&](const engine::BlamedField& blamed) {
                          return std::find(without.fields.begin(), without.fields.end(),
                                           blamed.field) != without.fields.end();
                        });
        if (same) fired.insert({finding.rule, without.line, 0});
      }
    }
  }

  /// The tree walk, standing where the checker stands: history has what came before the order.
  void begin(unsigned lane, const engine::Days& days, const engine::History& history) {
    engine::OrderFacts facts = engine::facts_of(block_, lane, days);
    const engine::Value patient = block_.value(lane, FieldId::PatientId);
    facts.records = patient.known() ? &history.of(patient.aux) : nullptr;
    scalar_.begin(facts);
  }

  ExampleFailure failure(const Expectation& expectation, const Verdict& verdict) {
    ExampleFailure out{
        engine::expect_text(expectation),
        expectation.rule.empty() ? given_by_order(verdict) : given_by(verdict, expectation.rule),
        {},
        {}};
    const auto rule = rule_in_question(*program_, expectation, verdict);
    const bool judged = verdict.outcome != Outcome::Outside && verdict.outcome != Outcome::Recorded;
    if (!rule || !judged) return out;
    const engine::RuleAnswer answer = engine::answer_of(scalar_, *rule, {}, scratch_, result_);
    const auto decided = in_question(scalar_, *rule, expectation, answer);
    out.decided = why_.conditions(scalar_, program_->rules[*rule], decided);
    out.values = why_.values(scalar_, program_->rules[*rule]);
    return out;
  }

  std::shared_ptr<const Program> program_;
  ExampleOrders orders_;
  engine::Checker checker_;
  OrderBlock block_;
  Scalar scalar_;
  WhyTeller why_;
  engine::RunScratch scratch_;
  engine::RunResult result_;
};
}  // namespace

std::size_t ExamplesReport::failed() const {
  return static_cast<std::size_t>(std::count_if(
      results.begin(), results.end(), [](const ExampleResult& r) { return !r.failures.empty(); }));
}

engine::Verdict judge_example(const std::shared_ptr<const Program>& program,
                              const Example& example) {
  Verdict copy;
  Runner(program).judge(example, [&](const Verdict& verdict, const engine::Days& /*days*/,
                                     const engine::History& /*history*/) {
    copy = verdict;
    copy.order = {};  // of the block
    copy.patient = {};
  });
  return copy;
}

ExamplesReport run_examples(const std::shared_ptr<const Program>& program, const Tests& tests,
                            const std::vector<std::uint32_t>& rules) {
  ExamplesReport report;
  ClauseSet fired;
  Runner runner(program);
  for (const Example* example : tests)
    report.results.push_back(runner.run(*example, fired));
  for (const std::uint32_t number : rules) {
    const engine::Rule& rule = program->rules[number];
    if (rule.trial) continue;  // what it found does not say which clause it is of
    for (std::size_t clause = 1; clause <= rule.clauses.size(); ++clause) {
      ++report.clauses;
      if (fired.contains({rule.name, 0, clause})) continue;
      report.uncovered.push_back({rule.name, clause, rule.clauses[clause - 1].line});
    }
    for (const engine::Without& without : rule.withouts) {
      if (without.ignore) continue;
      ++report.clauses;
      if (fired.contains({rule.name, without.line, 0})) continue;
      report.uncovered.push_back({rule.name, 0, without.line});
    }
  }
  return report;
}

}  // namespace meniscus::adapters
