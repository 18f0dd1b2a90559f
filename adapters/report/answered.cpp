// Contract: see answered.hpp.
#include "adapters/report/answered.hpp"

#include "adapters/report/output.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {

std::string answer_sentence(const engine::Answer& answer) {
  return "Answered on " + engine::format_day(answer.on) + " by " + answer.by + ", until " +
         engine::format_day(answer.until) + ": " + answer.text;
}

std::string answer_target(const engine::Answer& answer) {
  if (answer.order.empty()) return "every order of patient " + answer.patient;
  std::string text = "order " + answer.order;
  if (!answer.patient.empty()) text += " of patient " + answer.patient;
  return text;
}

std::string answered_values(const engine::Answer& answer) {
  std::string text;
  for (const engine::AnsweredValue& value : answer.values) {
    if (!text.empty()) text += ", ";
    text += value.name + " " + value.text.value_or("none");
  }
  return text;
}

std::string question_text(const std::string& say, const std::string& ask) {
  return ask.empty() ? say : say + " " + ask;
}

void append_answered_json(std::string& out, const engine::Verdict& verdict) {
  if (verdict.answered.empty()) return;
  const char* separator = ",\"answered\":[";
  for (const engine::Answered& item : verdict.answered) {
    out += separator;
    separator = ",";
    out += "{\"rule\":";
    append_json(out, item.rule);
    append_key(out, "say", item.say);
    append_key(out, "ask", item.ask);
    append_key(out, "answer", item.answer->text);
    append_key(out, "by", item.answer->by);
    append_key(out, "on", engine::format_day(item.answer->on));
    append_key(out, "until", engine::format_day(item.answer->until));
    out += '}';
  }
  out += ']';
}

}  // namespace meniscus::adapters
