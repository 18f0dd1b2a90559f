// Contract: see complaint.hpp.
#include "adapters/plugin/complaint.hpp"

#include "adapters/report/output.hpp"

namespace meniscus::adapters {

namespace {

std::string_view name(engine::Severity severity) {
  switch (severity) {
    case engine::Severity::Error:
      return "error";
    case engine::Severity::Warning:
      return "warning";
    case engine::Severity::Note:
      return "note";
  }
  return "";
}

}  // namespace

void Complaint::clear() noexcept {
  status_ = MENISCUS_OK;
  text_.clear();
  problems_.clear();
}

std::string& Complaint::new_line() {
  if (!text_.empty() && text_.back() != '\n') text_ += '\n';
  return text_;
}

void Complaint::append(const Entry& entry) {
  if (problems_.empty()) {
    problems_ = "[";
  } else {
    problems_.back() = ',';  // was the end of the list
  }
  problems_ += "{\"code\":";
  append_json(problems_, entry.code);
  append_key(problems_, "severity", entry.severity);
  append_key(problems_, "file", entry.file);
  problems_ += ",\"line\":";
  append_number(problems_, entry.line);
  problems_ += ",\"column\":";
  append_number(problems_, entry.column);
  append_key(problems_, "message", entry.message);
  append_key(problems_, "help", entry.help);
  problems_ += "}]";
}

MeniscusStatus Complaint::fail(MeniscusStatus status, std::string_view code,
                               std::string_view sentence) {
  append_plain(new_line(), sentence);
  append({code, "error", {}, sentence, {}});
  return fail(status);
}

void Complaint::add(std::string_view code, const InputProblem& problem, const std::string& file) {
  append_plain(new_line(), describe(problem, file));
  append({code, "error", file, problem.message, {}, problem.line, problem.column});
}

void Complaint::add(const engine::Diagnostic& diagnostic) {
  if (diagnostic.severity == engine::Severity::Error) new_line() += render(diagnostic);
  Entry entry{diagnostic.code, name(diagnostic.severity), {}, diagnostic.message, diagnostic.help};
  if (diagnostic.source != nullptr) {
    const engine::LineColumn at = diagnostic.source->locate(diagnostic.span.begin);
    entry.file = diagnostic.source->name();
    entry.line = at.line;
    entry.column = at.column;
  }
  append(entry);
}

MeniscusStatus Complaint::fail(MeniscusStatus status) noexcept {
  status_ = status;
  return status;
}

MeniscusStatus Complaint::fall(MeniscusStatus status) noexcept {
  clear();
  return fail(status);
}

const char* Complaint::text() const noexcept {
  if (status_ == MENISCUS_OK) return "";
  return text_.empty() ? text_of_status(status_) : text_.c_str();
}

const char* Complaint::problems() const noexcept {
  return problems_.empty() ? "[]" : problems_.c_str();
}

const char* text_of_status(int status) noexcept {
  // A number from outside is looked for, not turned into an enumerator that may not exist.
  struct Sentence {
    MeniscusStatus status;
    const char* text;
  };
  static constexpr Sentence kSentences[] = {
      {MENISCUS_OK, "done"},
      {MENISCUS_NULL_ARGUMENT, "a null pointer where something is needed"},
      {MENISCUS_WRONG_SETTING, "there is no such setting, or it cannot have this value"},
      {MENISCUS_WRONG_RULES, "the rules have mistakes or cannot be read; nothing is checked"},
      {MENISCUS_WRONG_PROFILE, "the feed profile has mistakes or cannot be read"},
      {MENISCUS_WRONG_ANSWERS, "the file of answers has mistakes or cannot be read"},
      {MENISCUS_NO_HISTORY, "the history store cannot be opened or read"},
      {MENISCUS_NOT_KEPT, "the orders could not be kept in the history store; none is checked"},
      {MENISCUS_UNKNOWN_FORMAT, "the format of the input is not known; nothing is checked"},
      {MENISCUS_LOOKS_BACK_FURTHER,
       "the rules look back on more than this checker has kept; make a new checker"},
      {MENISCUS_BUSY, "the checker is in use; nothing is checked"},
      {MENISCUS_UNUSABLE,
       "an error has damaged the history of this checker; nothing is checked, make a new one"},
      {MENISCUS_OUT_OF_MEMORY, "there is not enough memory; nothing is checked"},
      {MENISCUS_INTERNAL, "an error of the library; nothing is checked"},
  };
  for (const Sentence& sentence : kSentences) {
    if (sentence.status == status) return sentence.text;
  }
  return "there is no such status";
}

}  // namespace meniscus::adapters
