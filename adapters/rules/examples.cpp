// Contract: see examples.hpp.
#include "adapters/rules/examples.hpp"

#include <algorithm>
#include <set>
#include <utility>

#include "engine/eval/checker.hpp"
#include "engine/history/history.hpp"
#include "engine/order/feed.hpp"
#include "engine/order/field_text.hpp"

namespace meniscus::adapters {

namespace {
using engine::Example;
using engine::ExampleField;
using engine::ExampleOrder;
using engine::Expectation;
using engine::FieldId;
using engine::FieldKind;
using engine::Finding;
using engine::OrderBlock;
using engine::Outcome;
using engine::Program;
using engine::Verdict;
using ClauseSet = std::set<std::pair<std::string_view, std::size_t>>;

bool names(const ExampleOrder& order, FieldId field) {
  return std::any_of(order.fields.begin(), order.fields.end(),
                     [&](const ExampleField& f) { return f.field == field; });
}

bool is_list(FieldKind kind) {
  return kind == FieldKind::Words || kind == FieldKind::Components || kind == FieldKind::Steps ||
         kind == FieldKind::Sites;
}

void set(const engine::ReadContext& context, OrderBlock& block, unsigned lane, FieldId field,
         std::string_view text) {
  const engine::Origin origin{0, static_cast<std::uint32_t>(text.size())};
  if (text == "none") {
    block.set(lane, field, engine::Value::none(), text, origin);
  } else if (is_list(engine::info(field).kind)) {
    engine::set_list(context, block, lane, field, text, origin);
  } else {
    engine::set_field(context, block, lane, field, text, origin);
  }
}

/// Puts one line of an example into the next lane, with what may be left out.
void add_order(const engine::ReadContext& context, OrderBlock& block, const ExampleOrder& order,
               std::string_view id, bool needs_patient) {
  const unsigned lane = block.add_lane();
  for (const ExampleField& field : order.fields) {
    set(context, block, lane, field.field, field.text);
  }
  if (!names(order, FieldId::OrderId)) set(context, block, lane, FieldId::OrderId, id);
  if (needs_patient && !names(order, FieldId::PatientId)) {
    set(context, block, lane, FieldId::PatientId, "example");
  }
  if (names(order, FieldId::OrderGiven) && !names(order, FieldId::OrderAction)) {
    set(context, block, lane, FieldId::OrderAction, "given");
  }
  engine::complete(context, block, lane);
}

std::int64_t day_of(const Example& example) {
  for (const ExampleField& field : example.order.fields) {
    if (field.field != FieldId::ScheduleStart) continue;
    const auto date = engine::parse_date(field.text);
    if (date) return date->day();
  }
  return kExampleDay;
}

std::string expected_text(const Expectation& expectation) {
  std::string text(expectation.nothing ? "nothing" : engine::name(*expectation.outcome));
  if (!expectation.rule.empty()) text += " from " + expectation.rule;
  return text;
}

bool not_assessed(const Verdict& verdict, std::string_view rule) {
  return std::any_of(
      verdict.not_assessed.begin(), verdict.not_assessed.end(), [&](const auto& entry) {
        return std::find(entry.rules.begin(), entry.rules.end(), rule) != entry.rules.end();
      });
}

/// What one rule gave, in words.
std::string given_by(const Verdict& verdict, std::string_view rule) {
  std::string text;
  for (const Finding& finding : verdict.findings) {
    if (finding.rule != rule) continue;
    if (!text.empty()) text += " and ";
    text += engine::name(finding.grade);
    text += " (\"" + finding.say + "\")";
  }
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

bool holds_for_rule(const Expectation& expectation, const Verdict& verdict) {
  const std::string& rule = expectation.rule;
  const bool found = std::any_of(verdict.findings.begin(), verdict.findings.end(),
                                 [&](const Finding& f) { return f.rule == rule; });
  if (expectation.nothing) return !found;
  if (*expectation.outcome == Outcome::Clear) return !found && !not_assessed(verdict, rule);
  if (*expectation.outcome == Outcome::Incomplete) return not_assessed(verdict, rule);
  return std::any_of(verdict.findings.begin(), verdict.findings.end(), [&](const Finding& f) {
    return f.rule == rule && engine::outcome_of(f.grade) == *expectation.outcome;
  });
}

bool holds(const Expectation& expectation, const Verdict& verdict) {
  if (!expectation.rule.empty()) return holds_for_rule(expectation, verdict);
  if (expectation.nothing) return verdict.findings.empty();
  return verdict.outcome == *expectation.outcome;
}

class Runner {
 public:
  explicit Runner(std::shared_ptr<const Program> program) : program_(std::move(program)) {
    context_.program = program_.get();
    context_.feed = &feed_;
  }

  ExampleResult run(const Example& example, ClauseSet& fired) {
    engine::CheckOptions options;
    options.today = day_of(example);
    options.slips = false;
    engine::Checker checker(program_, options);
    engine::History history(program_->look_back, program_->history_fields,
                            program_->history_written);
    ExampleResult result;
    result.example = &example;
    unsigned judged = engine::kLanes;
    const engine::Checker::Report report = [&](const Verdict& verdict) {
      if (verdict.lane == judged) judge(example, verdict, result, fired);
    };
    block_.clear();
    for (std::size_t i = 0; i < example.earlier.size(); ++i) {
      if (block_.full()) {
        checker.check(block_, history, report);
        block_.clear();
      }
      const std::string_view id = block_.keep("earlier-" + std::to_string(i + 1));
      add_order(context_, block_, example.earlier[i], id, true);
    }
    if (block_.full()) {
      checker.check(block_, history, report);
      block_.clear();
    }
    judged = block_.size();
    add_order(context_, block_, example.order, "example", !example.earlier.empty());
    checker.check(block_, history, report);
    return result;
  }

 private:
  static void judge(const Example& example, const Verdict& verdict, ExampleResult& result,
                    ClauseSet& fired) {
    for (const Finding& finding : verdict.findings)
      fired.insert({finding.rule, finding.clause});
    for (const Expectation& expectation : example.expectations) {
      if (holds(expectation, verdict)) continue;
      result.failures.push_back({expected_text(expectation),
                                 expectation.rule.empty() ? given_by_order(verdict)
                                                          : given_by(verdict, expectation.rule)});
    }
  }

  std::shared_ptr<const Program> program_;
  engine::Feed feed_;
  engine::ReadContext context_;
  OrderBlock block_;
};
}  // namespace

std::size_t ExamplesReport::failed() const {
  return static_cast<std::size_t>(std::count_if(
      results.begin(), results.end(), [](const ExampleResult& r) { return !r.failures.empty(); }));
}

ExamplesReport run_examples(const std::shared_ptr<const Program>& program,
                            const std::set<std::string>& files) {
  const auto wanted = [&](const std::string& file) {
    return files.empty() || files.contains(file);
  };
  ExamplesReport report;
  ClauseSet fired;
  Runner runner(program);
  for (const Example& example : program->examples) {
    if (wanted(example.file)) report.results.push_back(runner.run(example, fired));
  }
  for (const engine::Rule& rule : program->rules) {
    if (!wanted(rule.file)) continue;
    for (std::size_t clause = 1; clause <= rule.clauses.size(); ++clause) {
      ++report.clauses;
      if (fired.contains({rule.name, clause})) continue;
      report.uncovered.push_back({rule.name, clause, rule.clauses[clause - 1].line});
    }
  }
  return report;
}

}  // namespace meniscus::adapters
