// Reading and writing lines of answers (contract: answers_file.hpp).  Adding to the file:
// append_answers.cpp.
#include "adapters/answers/answers_file.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>
#include <utility>

#include "adapters/support/json_scan.hpp"
#include "engine/program/program.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {
namespace {

using engine::Answer;
using Json = nlohmann::ordered_json;

constexpr std::array<std::string_view, 11> kKeys = {"order", "patient", "rule",   "conditions",
                                                    "say",   "ask",     "answer", "by",
                                                    "on",    "until",   "values"};
constexpr std::array<std::string_view, 5> kNeeded = {"rule", "answer", "by", "on", "until"};
constexpr std::size_t kConditionDigits = 16;

std::string conditions_text(std::uint64_t conditions) {
  std::string text(kConditionDigits, '0');
  for (std::size_t i = kConditionDigits; i > 0; --i, conditions >>= 4U)
    text[i - 1] = "0123456789abcdef"[conditions & 15U];
  return text;
}

/// One line of the file.
class LineReader {
 public:
  LineReader(std::string_view line, std::uint32_t number, std::vector<InputProblem>& problems)
      : line_(line), problems_(problems), problems_before_(problems.size()) {
    answer_.line = number;
  }

  std::optional<Answer> run() {
    if (const auto problem = json_problem(line_)) {
      say_at(problem->offset, "this is no JSON: " + problem->message, "");
      return std::nullopt;
    }
    const Json root = Json::parse(
        line_,
        [this](int depth, Json::parse_event_t event, Json& value) {
          if (event == Json::parse_event_t::key) note_key(depth, value.get<std::string>());
          return true;
        },
        false);
    if (!root.is_object()) {
      say("an answer is an object in UTF-8", "");
      return std::nullopt;
    }
    for (const auto& [key, value] : root.items())
      member(key, value, "/" + pointer_step(key));
    if (is_sound()) check_whole(root);
    if (!is_sound()) return std::nullopt;
    return std::move(answer_);
  }

 private:
  [[nodiscard]] bool is_sound() const { return problems_.size() == problems_before_; }

  void say_at(std::size_t offset, std::string message, std::string at) {
    InputProblem problem = problem_at(line_, offset, std::move(message), std::move(at));
    problem.line = answer_.line;
    problems_.push_back(std::move(problem));
  }
  void say(std::string message, const std::string& at) {
    say_at(json_offset_of(line_, at).value_or(0), std::move(message), at);
  }

  /// Which of two would hold is not known.
  void note_key(int depth, const std::string& key) {
    const std::string path = std::to_string(depth) + key;
    if (keys_.insert(path).second) return;
    say("`" + key + "` stands here twice", "");
  }

  std::string text(const Json& value, const std::string& at) {
    if (value.is_string()) return value.get<std::string>();
    say("text in quotes is needed", at);
    return {};
  }

  std::int64_t day(const Json& value, const std::string& at) {
    const std::string written = text(value, at);
    const auto date = engine::parse_date(written);
    if (date && engine::format_day(date->day()) == written) return date->day();
    if (value.is_string()) say("`" + written + "` is no day; write it as 2026-03-02", at);
    return 0;
  }

  std::uint64_t conditions(const Json& value, const std::string& at) {
    const std::string written = text(value, at);
    std::uint64_t number = 0;
    const char* end = written.data() + written.size();
    const auto read = std::from_chars(written.data(), end, number, 16);
    if (read.ptr == end && conditions_text(number) == written) return number;
    if (value.is_string()) say("16 hexadecimal digits are needed, as `meniscus answer` wrote", at);
    return 0;
  }

  void member(const std::string& key, const Json& value, const std::string& at) {
    if (key.starts_with("_")) return;  // a remark
    const std::pair<std::string_view, std::string*> texts[] = {
        {"order", &answer_.order}, {"patient", &answer_.patient}, {"rule", &answer_.rule},
        {"say", &answer_.say},     {"ask", &answer_.ask},         {"answer", &answer_.text},
        {"by", &answer_.by}};
    for (const auto& [name, into] : texts) {
      if (key != name) continue;
      *into = text(value, at);
      const bool target = key == "order" || key == "patient";
      if (target && value.is_string() && into->empty()) {
        say("`" + key + "` is empty; name it, or leave it out", at);  // it would hold for more
      }
      return;
    }
    if (key == "on") {
      answer_.on = day(value, at);
    } else if (key == "until") {
      answer_.until = day(value, at);
    } else if (key == "conditions") {
      answer_.conditions = conditions(value, at);
    } else if (key == "values") {
      values(value, at);
    } else {
      say(unknown_key(key, kKeys), at);
    }
  }

  void values(const Json& object, const std::string& at) {
    if (!object.is_object()) {
      say("an object is needed: each value by its name", at);
      return;
    }
    for (const auto& [name, value] : object.items()) {
      const std::string here = at + "/" + pointer_step(name);
      engine::AnsweredValue& kept = answer_.values.emplace_back();
      kept.name = name;
      if (!value.is_null()) kept.text = text(value, here);
    }
  }

  void check_whole(const Json& root) {
    for (const std::string_view key : kNeeded) {
      const auto at = root.find(key);
      if (at != root.end() && (!at->is_string() || !at->get<std::string>().empty())) continue;
      say("`" + std::string(key) + "` is needed", "");
    }
    for (const std::string_view key : {"conditions", "values"}) {
      if (!root.contains(key)) say("`" + std::string(key) + "` is needed", "");
    }
    if (answer_.order.empty() && answer_.patient.empty()) {
      say("`order` or `patient` is needed: what the answer is for", "");
    }
    if (!is_sound()) return;
    if (answer_.until < answer_.on) say("the last day is before the day of the answer", "/until");
    if (answer_.until - answer_.on > engine::kLongestDecision) {
      say("the last day is more than " + std::to_string(engine::kLongestDecision) +
              " days after the day of the answer",
          "/until");
    }
  }

  std::string_view line_;
  std::vector<InputProblem>& problems_;
  std::size_t problems_before_;
  std::set<std::string> keys_;
  Answer answer_;
};

}  // namespace

ReadAnswers read_answers(std::string_view text) {
  ReadAnswers read;
  for (std::uint32_t number = 1; !text.empty(); ++number) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (line.find_first_not_of(" \t\r") == std::string_view::npos) continue;
    if (auto answer = LineReader(line, number, read.problems).run())
      read.answers.add(std::move(*answer));
  }
  return read;
}

engine::Result<ReadAnswers> read_answers_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::string text{std::istreambuf_iterator<char>(file), {}};
  if (!file.is_open() || file.bad()) {
    return engine::Error{engine::Errc::Input, "cannot read the answers in " + path, 0, 0};
  }
  return read_answers(text);
}

std::string answer_line(const Answer& answer) {
  Json line = Json::object();
  if (!answer.order.empty()) line["order"] = answer.order;
  if (!answer.patient.empty()) line["patient"] = answer.patient;
  line["rule"] = answer.rule;
  line["conditions"] = conditions_text(answer.conditions);
  line["say"] = answer.say;
  if (!answer.ask.empty()) line["ask"] = answer.ask;
  line["answer"] = answer.text;
  line["by"] = answer.by;
  line["on"] = engine::format_day(answer.on);
  line["until"] = engine::format_day(answer.until);
  Json values = Json::object();
  for (const engine::AnsweredValue& value : answer.values)
    values[value.name] = value.text ? Json(*value.text) : Json(nullptr);
  line["values"] = std::move(values);
  return line.dump(-1, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace meniscus::adapters
