// Contract: see explain_command.hpp.
#include "adapters/cli/explain_command.hpp"

#include <algorithm>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "adapters/cli/inputs.hpp"
#include "adapters/cli/nearest.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/report/local_changes.hpp"
#include "adapters/report/output.hpp"
#include "adapters/report/wrap.hpp"
#include "adapters/rules/explanation.hpp"
#include "engine/eval/checker.hpp"
#include "engine/history/history.hpp"

namespace meniscus::adapters {

namespace {
using engine::FieldId;
using engine::Outcome;
using engine::Program;
using engine::Rule;
using engine::RuleAnswer;
using engine::RuleEnd;
using engine::Verdict;

/// What the sentences are written from: one order of one file.
struct Told {
  const Verdict& verdict;
  const engine::OrderBlock& block;
  const engine::OrderSource& source;
};

std::string place_text(const engine::Place& place) {
  std::string text = place.file;
  if (place.line > 0) text += ":" + std::to_string(place.line) + ":" + std::to_string(place.column);
  if (!place.at.empty()) text += " " + place.at;
  return text;
}

void append_line(std::string& out, std::size_t indent, std::string_view text) {
  out.append(indent, ' ');
  append_wrapped(out, text, indent, indent + 2);
}

std::string answer_words(const RuleAnswer& answer) {
  switch (answer.end) {
    case RuleEnd::Fired:
      return "says " + std::string(engine::name(answer.grade));
    case RuleEnd::Clear:
      return "is about this order and has nothing to say";
    case RuleEnd::NotAbout:
      return "is not about this order";
    case RuleEnd::Undecided:
      return "could not be assessed";
    case RuleEnd::Ignored:
      return "stays silent for lack of data";
  }
  return {};
}

/// What stands before the conditions.
std::string_view reason_words(const RuleAnswer& answer) {
  return answer.end == RuleEnd::NotAbout ? "What it is about:" : "Because:";
}

class Explanation {
 public:
  Explanation(const Program& program, Explainer& explainer, const Told& told, std::string& out)
      : program_(program), explainer_(explainer), told_(told), out_(out) {}

  /// One rule, at length.
  void rule(const engine::OrderFacts& facts, std::uint32_t number) {
    const Rule& r = program_.rules[number];
    const RuleExplanation e = explainer_.explain(facts, number);
    append_line(out_, 0, r.name + " (" + r.title + ") " + answer_words(e.answer) + ".");
    if (!e.say.empty()) append_line(out_, 2, "\"" + e.say + "\"");
    hidden(r);
    if (e.answer.end == RuleEnd::Undecided) not_assessed(r.name);
    if (!e.conditions.empty()) append_line(out_, 2, reason_words(e.answer));
    for (const WhyCondition& condition : e.conditions)
      this->condition(condition);
    if (e.answer.also_undecided) {
      append_line(out_, 2, "A graver clause of this rule could not be assessed.");
      not_assessed(r.name);
    }
    change(e);
    out_ += '\n';
  }

  void head() {
    const Verdict& verdict = told_.verdict;
    std::string text = "Order " + std::string(verdict.order);
    if (!verdict.patient.empty()) text += " of patient " + std::string(verdict.patient);
    text += ", " + place_text(told_.source.record_place(told_.block, verdict.lane)) + ": ";
    text += engine::name(verdict.outcome);
    if (!verdict.reason.empty()) text += " (" + verdict.reason + ")";
    append_line(out_, 0, text + ".");
    out_ += '\n';
  }

  /// What the reader itself found: values in doubt.
  void built_in() {
    for (const engine::Finding& finding : told_.verdict.findings) {
      if (finding.rule != "doubtful-value") continue;
      append_line(out_, 0, "doubtful-value says " + std::string(engine::name(finding.grade)) + ".");
      append_line(out_, 2, "\"" + finding.say + "\"");
      for (const engine::BlamedField& field : finding.fields)
        append_line(out_, 2,
                    place_text(told_.source.place(told_.block, told_.verdict.lane, field.field,
                                                  field.origin)));
      out_ += '\n';
    }
  }

  /// Every rule: what spoke and what could not be assessed at length, the others in a line.
  void all(const engine::OrderFacts& facts) {
    built_in();
    std::vector<std::uint32_t> open;
    std::vector<std::uint32_t> ignored;
    std::vector<std::uint32_t> apart;
    std::string clear;
    for (std::uint32_t i = 0; i < program_.rules.size(); ++i) {
      switch (explainer_.answer(facts, i).end) {
        case RuleEnd::Fired:
          rule(facts, i);
          break;
        case RuleEnd::Undecided:
          open.push_back(i);
          break;
        case RuleEnd::Ignored:
          ignored.push_back(i);
          break;
        case RuleEnd::NotAbout:
          apart.push_back(i);
          break;
        case RuleEnd::Clear:
          clear += (clear.empty() ? "" : ", ") + program_.rules[i].name;
          break;
      }
    }
    for (const std::uint32_t i : open)
      rule(facts, i);
    if (!clear.empty()) append_line(out_, 0, "Checked, with nothing to say: " + clear + ".");
    if (!clear.empty()) out_ += '\n';
    short_lines(
        facts, ignored,
        "Silent for lack of data, as their rules say or because the feed never carries it:");
    short_lines(facts, apart, "Not about this order:");
  }

 private:
  /// What the report does not show.
  void hidden(const Rule& rule) {
    if (rule.trial) append_line(out_, 2, "The rule is on trial: the report counts it only.");
    for (const engine::Hidden& each : told_.verdict.muted) {
      if (each.rule != rule.name || each.change == nullptr) continue;
      append_line(
          out_, 2,
          "The report shows it under what is muted: " + change_sentence(*each.change) + ".");
    }
  }

  void not_assessed(const std::string& rule) {
    for (const engine::NotAssessed& line : told_.verdict.not_assessed) {
      if (std::find(line.rules.begin(), line.rules.end(), rule) == line.rules.end()) continue;
      append_line(out_, 2, "Missing: " + line.missing + ".");
    }
  }

  void condition(const WhyCondition& condition) {
    append_line(out_, 4,
                "`" + condition.text + "` " + std::string(truth_words(condition.truth)) + "   " +
                    condition.place);
    for (const WhyValue& side : condition.sides)
      value(side, 6);
    if (condition.fields.empty()) return;
    append_line(out_, 6, "worked out from");
    for (const WhyValue& field : condition.fields)
      value(field, 8);
  }

  void value(const WhyValue& value, std::size_t indent) {
    std::string text = value.name + " = " + value.value;
    if (value.field) {
      const unsigned lane = told_.verdict.lane;
      const engine::Origin origin = told_.block.origin(lane, *value.field);
      text += "   " + place_text(told_.source.place(told_.block, lane, *value.field, origin));
      if (told_.block.from_text(lane, *value.field)) text += ", read from text";
    }
    append_line(out_, indent, text);
  }

  void change(const RuleExplanation& e) {
    if (e.answer.end == RuleEnd::Undecided || e.answer.end == RuleEnd::Ignored ||
        e.answer.without) {
      return;  // what is missing is the answer
    }
    if (!e.change) {
      append_line(out_, 2, "No change of one value was found that would turn this round.");
      return;
    }
    const TurningChange& change = *e.change;
    std::string text = "Smallest change found that would turn this round: ";
    text.append(engine::info(change.field).name).append(" ").append(change.to);
    text.append(" instead of ").append(change.from).append("; then it ");
    append_line(out_, 2, text + answer_words(change.then) + ".");
  }

  void short_lines(const engine::OrderFacts& facts, const std::vector<std::uint32_t>& rules,
                   std::string_view head) {
    if (rules.empty()) return;
    append_line(out_, 0, head);
    for (const std::uint32_t i : rules) {
      const RuleExplanation e = explainer_.reasons_only(facts, i);
      std::string text = program_.rules[i].name;
      if (!e.conditions.empty()) {
        const WhyCondition& first = e.conditions.front();
        text += ": " + first.text + " " + std::string(truth_words(first.truth));
        if (!first.sides.empty()) text += " (" + listed(first.sides) + ")";
      }
      append_line(out_, 2, text);
    }
    out_ += '\n';
  }

  const Program& program_;
  Explainer& explainer_;
  const Told& told_;
  std::string& out_;
};

/// One run over all files, up to the last.
class ExplainRun {
 public:
  ExplainRun(const Arguments& arguments, const Console& console,
             std::shared_ptr<const Program> program, engine::Feed feed)
      : arguments_(arguments),
        console_(console),
        program_(std::move(program)),
        feed_(std::move(feed)),
        history_(program_->look_back, program_->history_fields, program_->history_written) {}

  ExitStatus run(std::optional<std::uint32_t> rule) {
    rule_ = rule;
    for (std::uint32_t file = 0; file < arguments_.files.size(); ++file)
      read(arguments_.files[file], file);
    if (found_) return status_;
    console_.complain("there is no order " + arguments_.order + " in what was read");
    return worst(status_, ExitStatus::Usage);
  }

 private:
  void read(const std::string& name, std::uint32_t file) {
    const engine::ReadContext context{program_.get(), &feed_};
    auto input = open_input(name, arguments_.from, file, context);
    if (!input) {
      console_.complain(input.error().message);
      status_ = worst(status_, ExitStatus::Unread);
      return;
    }
    const engine::CheckOptions options = check_options(arguments_, console_, feed_, *input->source);
    engine::Checker checker(program_, options);
    const engine::Days days{options.as_of, options.today};
    const engine::Checker::Report report = [&](const Verdict& verdict) {
      for (const engine::Finding& finding : verdict.findings)
        if (finding.rule == "unreadable") status_ = worst(status_, ExitStatus::Unread);
      if (verdict.order == arguments_.order) {
        explain({verdict, block_, *input->source}, days, options.never_carries);
      }
    };
    while (input->source->next(block_))
      checker.check(block_, history_, report);
  }

  /// While the checker reports a lane, history holds what its patient had before it.
  void explain(const Told& told, const engine::Days& days, const engine::FieldSet& never) {
    found_ = true;
    Explainer explainer(*program_, days, never);
    std::string out;
    Explanation explanation(*program_, explainer, told, out);
    explanation.head();
    const Outcome outcome = told.verdict.outcome;
    if (outcome != Outcome::Outside && outcome != Outcome::Recorded) {
      engine::OrderFacts facts = engine::facts_of(block_, told.verdict.lane, days);
      const engine::Value patient = block_.value(told.verdict.lane, FieldId::PatientId);
      if (patient.known()) facts.records = &history_.of(patient.aux);
      if (rule_) {
        explanation.rule(facts, *rule_);
      } else {
        explanation.all(facts);
      }
    } else {
      append_line(out, 0, "It is no order to judge, so no rule was asked.");
    }
    console_.say(out);
  }

  const Arguments& arguments_;
  const Console& console_;
  std::shared_ptr<const Program> program_;
  engine::Feed feed_;
  engine::History history_;
  engine::OrderBlock block_;
  std::optional<std::uint32_t> rule_;
  bool found_ = false;
  ExitStatus status_ = ExitStatus::Clean;
};
}  // namespace

ExitStatus run_explain(const Arguments& arguments, const Console& console) {
  auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  std::optional<std::uint32_t> rule;
  if (!arguments.rule_name.empty()) {
    rule = find_rule(*program, arguments.rule_name, console);
    if (!rule) return ExitStatus::Usage;
  }
  auto feed = load_feed(arguments.profile, *program, console);
  if (!feed) return ExitStatus::Usage;
  return ExplainRun(arguments, console, std::move(program), std::move(*feed)).run(rule);
}

}  // namespace meniscus::adapters
