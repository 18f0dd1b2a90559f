// Matching answers with questions (contract: answer_finder.hpp).
#include "engine/answers/answer_finder.hpp"

#include <algorithm>

#include "engine/quantity/calendar.hpp"

namespace meniscus::engine {
namespace {

const AnsweredValue* find_value(const std::vector<AnsweredValue>& values, std::string_view name) {
  const auto at = std::find_if(values.begin(), values.end(),
                               [&](const AnsweredValue& value) { return value.name == name; });
  return at == values.end() ? nullptr : &*at;
}

std::string_view shown(const AnsweredValue* value) {
  if (value == nullptr) return "not stated";
  return value->text ? std::string_view(*value->text) : "none";
}

void add_change(std::string_view name, const AnsweredValue* then, const AnsweredValue* now,
                std::string& out) {
  if (then != nullptr && now != nullptr && then->text == now->text) return;
  if (!out.empty()) out += ", ";
  out.append(name).append(" has changed from ").append(shown(then));
  out.append(" to ").append(shown(now));
}

/// Another medicine of the patient is not what was asked about.
bool is_of_another_medicine(const Answer& answer, const Question& now) {
  for (const FieldId field : {FieldId::SubstanceCode, FieldId::SubstanceName}) {
    const AnsweredValue* then = find_value(answer.values, info(field).name);
    const AnsweredValue* today = find_value(now.values, info(field).name);
    if (shown(then) != shown(today)) return true;
  }
  return false;
}

}  // namespace

AnswerStanding standing_on(std::int64_t day, const Answer& answer) {
  if (day < answer.on) return AnswerStanding::NotYet;
  return day > answer.until ? AnswerStanding::Ended : AnswerStanding::InForce;
}

std::string what_changed(const Answer& answer, const Question& now) {
  std::string out;
  for (const AnsweredValue& value : now.values)
    add_change(value.name, find_value(answer.values, value.name), &value, out);
  for (const AnsweredValue& value : answer.values) {
    if (find_value(now.values, value.name) == nullptr) add_change(value.name, &value, nullptr, out);
  }
  return out;
}

/// Half a sentence; empty where the answer holds.
std::string AnswerFinder::why_not(Scalar& scalar, const Asked& asked, const Answer& answer) {
  if (asked.grade == Grade::Hold) return "this is a hold, which no answer settles";
  if (standing_on(program_.rules_day, answer) == AnswerStanding::Ended) {
    return "that answer ended on " + format_day(answer.until);
  }
  const auto scope = answer.order.empty() ? QuestionScope::Patient : QuestionScope::Order;
  const Question& now = questions_.read(scalar, asked.hit, scope);
  if (answer.conditions != now.conditions) return "the rule asks something else now";
  if (answer.patient != asked.patient) return "the order is another patient's now";
  std::string changed = what_changed(answer, now);
  if (changed.empty() && asked.graver_open) {
    return "a graver part of the rule could not be checked";
  }
  return changed;
}

const Answer* AnswerFinder::find_for(Scalar& scalar, const Asked& asked, QuestionScope scope,
                                     EarlierAnswer& earlier) {
  const bool for_order = scope == QuestionScope::Order;
  if ((for_order ? asked.order : asked.patient).empty()) return nullptr;
  const auto* given = answers_->find(for_order ? asked.order : std::string_view{}, asked.patient,
                                     program_.rules[asked.hit.rule].name);
  if (given == nullptr) return nullptr;
  for (auto at = given->rbegin(); at != given->rend(); ++at) {
    const Answer& answer = **at;
    if (standing_on(program_.rules_day, answer) == AnswerStanding::NotYet) continue;
    if (!for_order && is_of_another_medicine(answer, questions_.read(scalar, asked.hit, scope))) {
      continue;
    }
    const std::string reason = why_not(scalar, asked, answer);
    if (reason.empty()) return &answer;
    if (earlier.answer != nullptr) continue;
    earlier.answer = &answer;
    earlier.why = "answered before on " + format_day(answer.on) + ", but " + reason;
  }
  return nullptr;
}

const Answer* AnswerFinder::find(Scalar& scalar, const Asked& asked, EarlierAnswer& earlier) {
  for (const QuestionScope scope : {QuestionScope::Order, QuestionScope::Patient}) {
    const Answer* answer = find_for(scalar, asked, scope, earlier);
    if (answer != nullptr) return answer;
  }
  return nullptr;
}

}  // namespace meniscus::engine
