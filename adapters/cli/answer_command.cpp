// `meniscus answer` (contract: answer_command.hpp).
#include "adapters/cli/answer_command.hpp"

#include <algorithm>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "adapters/answers/answers_file.hpp"
#include "adapters/cli/judged_orders.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/report/answered.hpp"
#include "adapters/report/wrap.hpp"
#include "engine/answers/question.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {

namespace {
using engine::Answer;
using engine::Finding;
using engine::Grade;
using engine::Outcome;
using engine::QuestionScope;
using engine::Verdict;

/// What the rule asks about one order, as answers to be kept; or why there is nothing to answer.
struct Asked {
  std::vector<Answer> answers;
  std::string why_not;  // one sentence without its end
};

/// Two orders of one patient that are asked the same of the same values.
bool same_questions(const Asked& a, const Asked& b) {
  return std::equal(a.answers.begin(), a.answers.end(), b.answers.begin(), b.answers.end(),
                    [](const Answer& x, const Answer& y) {
                      return x.patient == y.patient && x.conditions == y.conditions &&
                             x.values == y.values;
                    });
}

class AnswerRun {
 public:
  AnswerRun(const Arguments& arguments, const Console& console, const engine::Program& program,
            std::uint32_t rule)
      : arguments_(arguments),
        console_(console),
        program_(program),
        rule_(rule),
        scalar_(program),
        questions_(program) {}

  /// One of the orders that are read.
  void look_at(const JudgedOrder& order) {
    const Verdict& verdict = order.verdict;
    if (!arguments_.order.empty() && verdict.order != arguments_.order) return;
    if (!arguments_.patient.empty() && verdict.patient != arguments_.patient) return;
    if (verdict.outcome == Outcome::Outside || verdict.outcome == Outcome::Recorded) return;
    Asked asked = ask(order);
    if (found_ && arguments_.order.empty()) return merge(asked);
    if (found_ && patient_ != verdict.patient) several_patients_ = true;
    patient_ = verdict.patient;
    found_ = std::move(asked);  // the last version of an order counts
  }

  /// Keeps the answers; complains, and keeps none, where it cannot.
  [[nodiscard]] bool keep() const {
    const std::string why = why_not();
    if (!why.empty()) {
      console_.complain(why + "; nothing was kept");
      return false;
    }
    std::string lines;
    for (const Answer& answer : found_->answers)
      lines += answer_line(answer);
    const engine::Status kept = append_answers(arguments_.answers, lines);
    if (!kept) {
      console_.complain(kept.error().message);
      return false;
    }
    say_kept();
    warn_of_readers();
    return true;
  }

 private:
  [[nodiscard]] std::string target() const {
    return arguments_.order.empty() ? "patient " + arguments_.patient : "order " + arguments_.order;
  }

  [[nodiscard]] std::string why_not() const {
    if (!found_) {
      const std::string what =
          arguments_.order.empty() ? "order of patient " + arguments_.patient : target();
      return "there is no " + what + " to judge in what was read";
    }
    if (several_patients_) {
      return "order " + arguments_.order +
             " stands there for several patients; say which with --patient ID";
    }
    if (several_questions_) {
      return "orders of patient " + arguments_.patient +
             " are asked this with different values; name one of them with --order ID";
    }
    return found_->why_not;
  }

  void merge(Asked& asked) {
    if (asked.answers.empty()) return;
    if (found_->answers.empty()) {
      found_ = std::move(asked);
    } else if (!same_questions(*found_, asked)) {
      several_questions_ = true;
    }
  }

  [[nodiscard]] std::string rule_name() const { return "rule " + program_.rules[rule_].name; }

  Asked ask(const JudgedOrder& order) {
    const Verdict& verdict = order.verdict;
    const bool open = std::any_of(verdict.not_assessed.begin(), verdict.not_assessed.end(),
                                  [&](const engine::NotAssessed& line) { return concerns(line); });
    std::optional<Grade> other;
    Asked asked;
    for (const Finding& finding : verdict.findings) {
      if (finding.rule != program_.rules[rule_].name) continue;
      if (finding.grade == Grade::Clarify) {
        asked.answers.push_back(answer_to(order, finding));
      } else {
        other = std::max(other.value_or(finding.grade), finding.grade);
      }
    }
    if (!other && !open && !asked.answers.empty() && !nameless(verdict)) return asked;
    asked.why_not = why_not(verdict, other, open, !asked.answers.empty());
    if (!asked.why_not.empty()) asked.answers.clear();
    return asked;
  }

  [[nodiscard]] bool concerns(const engine::NotAssessed& line) const {
    return std::find(line.rules.begin(), line.rules.end(), program_.rules[rule_].name) !=
           line.rules.end();
  }

  /// What the answer is for must have a name.
  [[nodiscard]] bool nameless(const Verdict& verdict) const {
    return arguments_.patient.empty() ? verdict.order.empty() : verdict.patient.empty();
  }

  [[nodiscard]] std::string why_not(const Verdict& verdict, std::optional<Grade> other, bool open,
                                    bool asks) const {
    if (other == Grade::Hold) {
      return rule_name() + " holds " + target() +
             ", and no answer settles a hold: the order has to be changed";
    }
    if (open && asks) {
      return "a graver part of " + rule_name() + " could not be checked for lack of " +
             missing(verdict) + ", which comes first";
    }
    if (asks) return {};
    if (open) return rule_name() + " could not be checked for lack of " + missing(verdict);
    if (other) {
      return rule_name() + " asks nothing about " + target() + ": it says a " +
             std::string(engine::name(*other)) + ", which needs no answer";
    }
    if (program_.rules[rule_].trial) return rule_name() + " is on trial and asks nobody";
    for (const engine::Hidden& hidden : verdict.muted) {
      if (hidden.rule == program_.rules[rule_].name)
        return "what " + rule_name() + " finds is muted, so there is nothing to answer";
    }
    return rule_name() + " found nothing in " + target() + ", so there is nothing to answer";
  }

  [[nodiscard]] std::string missing(const Verdict& verdict) const {
    std::string names;
    for (const engine::NotAssessed& line : verdict.not_assessed) {
      if (concerns(line)) names += (names.empty() ? "" : ", ") + line.missing;
    }
    return names;
  }

  Answer answer_to(const JudgedOrder& order, const Finding& finding) {
    scalar_.begin(order.facts());
    const engine::Hit hit{rule_, finding.clause - 1, finding.without - 1, 0};
    const bool whole_patient = !arguments_.patient.empty();
    const engine::Question& question = questions_.read(
        scalar_, hit, whole_patient ? QuestionScope::Patient : QuestionScope::Order);
    Answer answer;
    if (!whole_patient) answer.order = order.verdict.order;
    answer.patient = order.verdict.patient;
    answer.rule = finding.rule;
    answer.conditions = question.conditions;
    answer.values = question.values;
    answer.say = finding.say;
    answer.ask = finding.ask;
    answer.text = arguments_.text;
    answer.by = arguments_.by;
    answer.on = program_.rules_day;
    answer.until = *arguments_.until;
    return answer;
  }

  void say_kept() const {
    std::string out;
    for (const Answer& answer : found_->answers) {
      append_line(out, 0,
                  "Kept in " + arguments_.answers + ": an answer to " + answer.rule + " for " +
                      answer_target(answer) + ", until " + engine::format_day(answer.until) + ".");
      append_line(out, 2, "Asked: " + question_text(answer.say, answer.ask));
      append_line(out, 2, "It holds while these stay as they are: " + answered_values(answer));
    }
    console_.say(out);
  }

  void warn_of_readers() const {
    namespace fs = std::filesystem;
    std::error_code problem;
    const fs::perms others = fs::perms::group_all | fs::perms::others_all;
    const fs::perms mode = fs::status(arguments_.answers, problem).permissions();
    if (problem || (mode & others) == fs::perms::none) return;
    console_.complain(arguments_.answers +
                      " says what orders say of patients, and others on this machine can open it; "
                      "protect it: chmod 600 " +
                      arguments_.answers);
  }

  const Arguments& arguments_;
  const Console& console_;
  const engine::Program& program_;
  std::uint32_t rule_;
  engine::Scalar scalar_;
  engine::QuestionReader questions_;
  std::optional<Asked> found_;
  std::string patient_;
  bool several_patients_ = false;
  bool several_questions_ = false;
};

/// Empty when the day is one that an answer may end on.
std::string wrong_end(std::int64_t until, std::int64_t today) {
  if (until < today) return "--until " + engine::format_day(until) + " is over already";
  const std::int64_t latest = today + engine::kLongestDecision;
  if (until <= latest) return {};
  return "--until " + engine::format_day(until) + " is more than " +
         std::to_string(engine::kLongestDecision) + " days away; write a day up to " +
         engine::format_day(latest) + ", and ask again then";
}
}  // namespace

ExitStatus run_answer(const Arguments& arguments, const Console& console) {
  const std::string wrong = wrong_end(*arguments.until, rules_day(arguments, console));
  if (!wrong.empty()) {
    console.complain(wrong);
    return ExitStatus::Usage;
  }
  const auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  const auto rule = find_rule(*program, arguments.rule_name, console);
  if (!rule) return ExitStatus::Usage;
  const auto feed = load_feed(arguments.profile, *program, console);
  if (!feed) return ExitStatus::Usage;
  AnswerRun run(arguments, console, *program, *rule);
  const JudgeAll judge{arguments, console, program, *feed};
  const ExitStatus status =
      judge.run(arguments.files, [&](const JudgedOrder& order) { run.look_at(order); });
  return run.keep() ? status : worst(status, ExitStatus::Usage);
}

}  // namespace meniscus::adapters
