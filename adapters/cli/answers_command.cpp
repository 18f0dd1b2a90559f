// `meniscus answers` (contract: answer_command.hpp).
#include <algorithm>
#include <array>
#include <map>
#include <string>

#include "adapters/cli/answer_command.hpp"
#include "adapters/cli/judged_orders.hpp"
#include "adapters/cli/kept_answers.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/report/answered.hpp"
#include "adapters/report/wrap.hpp"
#include "engine/answers/answer_finder.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {

namespace {
using engine::Answer;
using engine::Program;

enum class Standing : std::uint8_t { InForce, NoLonger, Ended, NotYet };
constexpr std::array<std::string_view, 4> kStandings = {"in force", "no longer applies", "ended",
                                                        "not yet in force"};

constexpr std::array<std::string_view, 4> kCounted = {"in force", "that no longer apply", "ended",
                                                      "not yet in force"};

/// What became of an answer on the orders that were read.
struct OnOrders {
  std::size_t held = 0;  // orders whose question it answers
  std::string order;     // the last one for which it does not
  std::string why_not;
};

/// Some part of the rule asks for what was asked for then.
bool still_asks(const Program& program, const engine::Rule& rule, const Answer& answer) {
  const auto number = static_cast<std::uint32_t>(&rule - program.rules.data());
  engine::QuestionReader questions(program);
  for (std::size_t i = 0; i < rule.clauses.size() + rule.withouts.size(); ++i) {
    const bool clause = i < rule.clauses.size();
    const auto place = static_cast<std::int32_t>(clause ? i : i - rule.clauses.size());
    const engine::Hit hit{number, clause ? place : -1, clause ? -1 : place, 0};
    if (questions.conditions(hit) == answer.conditions) return true;
  }
  return false;
}

class AnswerList {
 public:
  AnswerList(const Program& program, const Console& console)
      : program_(program), console_(console) {}

  void look_at(const engine::Verdict& verdict) {
    for (const engine::Answered& item : verdict.answered)
      ++seen_[item.answer].held;
    for (const engine::Finding& finding : verdict.findings) {
      if (finding.earlier.answer == nullptr) continue;
      OnOrders& seen = seen_[finding.earlier.answer];
      seen.order = verdict.order;
      seen.why_not = finding.earlier.why + ".";
    }
  }

  /// `on_orders`: some were read.
  void say(const engine::Answers& answers, bool on_orders) {
    std::string out;
    for (const Answer& answer : answers.all())
      entry(answer, on_orders, out);
    append_summary(answers.all().size(), out);
    console_.say(out);
  }

 private:
  void entry(const Answer& answer, bool on_orders, std::string& out) {
    std::string why;
    const Standing standing = standing_of(answer, why);
    ++counts_.at(static_cast<std::size_t>(standing));
    std::string head = answer.rule + " for " + answer_target(answer) + ": ";
    head += kStandings.at(static_cast<std::size_t>(standing));
    append_line(out, 0, head + (why.empty() ? "" : ": " + why));
    append_line(out, 2, "Asked: " + question_text(answer.say, answer.ask));
    append_line(out, 2, answer_sentence(answer));
    append_line(out, 2, "Rests on: " + answered_values(answer));
    if (on_orders && standing == Standing::InForce) on_these_orders(answer, out);
    out += '\n';
  }

  void on_these_orders(const Answer& answer, std::string& out) const {
    const auto at = seen_.find(&answer);
    if (at == seen_.end()) return append_line(out, 2, "Not asked in these orders.");
    const OnOrders& seen = at->second;
    if (seen.held > 0) {
      append_line(
          out, 2,
          "Answers " + std::to_string(seen.held) + (seen.held == 1 ? " order." : " orders."));
    }
    if (!seen.why_not.empty()) append_line(out, 2, "In order " + seen.order + ": " + seen.why_not);
  }

  Standing standing_of(const Answer& answer, std::string& why) const {
    const engine::Rule* rule = rule_in_force(program_, answer.rule);
    switch (engine::standing_on(program_.rules_day, answer)) {
      case engine::AnswerStanding::NotYet:
        return Standing::NotYet;
      case engine::AnswerStanding::Ended:
        return Standing::Ended;
      case engine::AnswerStanding::InForce:
        break;
    }
    if (rule == nullptr) {
      why = "there is no such rule in force";
    } else if (!still_asks(program_, *rule, answer)) {
      why = "the rule asks something else now";
    } else if (const auto seen = seen_.find(&answer);
               seen != seen_.end() && seen->second.held == 0 && !answer.order.empty()) {
      why = seen->second.why_not;
    }
    return why.empty() ? Standing::InForce : Standing::NoLonger;
  }

  void append_summary(std::size_t all, std::string& out) const {
    out += std::to_string(all) + (all == 1 ? " answer" : " answers");
    const char* separator = ": ";
    for (std::size_t i = 0; i < counts_.size(); ++i) {
      if (counts_.at(i) == 0) continue;
      out.append(separator).append(std::to_string(counts_.at(i))).append(" ");
      out.append(kCounted.at(i));
      separator = ", ";
    }
    out += '\n';
  }

  const Program& program_;
  const Console& console_;
  std::map<const Answer*, OnOrders> seen_;
  std::array<std::size_t, kStandings.size()> counts_{};
};
}  // namespace

ExitStatus run_answers(const Arguments& arguments, const Console& console) {
  const auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  const auto feed = load_feed(arguments.profile, *program, console);
  if (!feed) return ExitStatus::Usage;
  const auto kept = load_answers(arguments.files.front(), *program, console);
  if (!kept) return ExitStatus::Usage;
  AnswerList list(*program, console);
  const JudgeAll judge{arguments, console, program, *feed, &kept->answers};
  const ExitStatus status =
      judge.run(arguments.orders, [&](const JudgedOrder& order) { list.look_at(order.verdict); });
  list.say(kept->answers, !arguments.orders.empty());
  return kept->sound ? status : worst(status, ExitStatus::Usage);
}

}  // namespace meniscus::adapters
