// Contract: see explain_command.hpp.
#include "adapters/cli/explain_command.hpp"

#include <algorithm>
#include <string>
#include <vector>

#include "adapters/cli/judged_orders.hpp"
#include "adapters/cli/kept_answers.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/report/answered.hpp"
#include "adapters/report/local_changes.hpp"
#include "adapters/report/output.hpp"
#include "adapters/report/wrap.hpp"
#include "adapters/rules/explanation.hpp"

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
      if (finding.rule != engine::kDoubtfulValue) continue;
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
    for (const engine::Answered& each : told_.verdict.answered) {
      if (each.rule == rule.name) append_line(out_, 2, answer_sentence(*each.answer));
    }
    for (const engine::Finding& finding : told_.verdict.findings) {
      const std::string& why = finding.earlier.why;
      if (finding.rule == rule.name && !why.empty()) append_line(out_, 2, "Open: " + why + ".");
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

/// All that is said about one order.
std::string explain_order(const Program& program, const JudgedOrder& order,
                          std::optional<std::uint32_t> rule) {
  Explainer explainer(program, {order.options.as_of, order.options.today},
                      order.options.never_carries);
  std::string out;
  const Told told{order.verdict, order.block, order.source};
  Explanation explanation(program, explainer, told, out);
  explanation.head();
  const Outcome outcome = order.verdict.outcome;
  if (outcome == Outcome::Outside || outcome == Outcome::Recorded) {
    append_line(out, 0, "It is no order to judge, so no rule was asked.");
  } else if (rule) {
    explanation.rule(order.facts(), *rule);
  } else {
    explanation.all(order.facts());
  }
  return out;
}
}  // namespace

ExitStatus run_explain(const Arguments& arguments, const Console& console) {
  auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  std::optional<std::uint32_t> rule;
  if (!arguments.rule_name.empty()) {
    rule = find_rule(*program, arguments.rule_name, console);
    if (!rule) return ExitStatus::Usage;
  }
  const auto feed = load_feed(arguments.profile, *program, console);
  if (!feed) return ExitStatus::Usage;
  const auto kept = load_answers(arguments.answers, *program, console);
  if (!kept) return ExitStatus::Usage;
  bool found = false;
  const JudgeAll judge{arguments, console, program, *feed, &kept->answers};
  const ExitStatus judged = judge.run(arguments.files, [&](const JudgedOrder& order) {
    if (order.verdict.order != arguments.order) return;
    found = true;
    console.say(explain_order(*program, order, rule));
  });
  const ExitStatus status = kept->sound ? judged : worst(judged, ExitStatus::Usage);
  // Where the orders were not read, that was said.
  if (found || judged == ExitStatus::Usage) return status;
  console.complain("there is no order " + arguments.order + " in what was read");
  return worst(status, ExitStatus::Usage);
}

}  // namespace meniscus::adapters
