// Contract: see outcome_writer.hpp.
#include "adapters/fhir/outcome_writer.hpp"

#include "adapters/report/answered.hpp"
#include "adapters/report/local_changes.hpp"
#include "engine/quantity/calendar.hpp"
#include "engine/verdict/lack.hpp"

namespace meniscus::adapters::fhir {
namespace {

using engine::Finding;
using engine::Grade;
using engine::NotAssessed;
using engine::Outcome;
using engine::Verdict;

/// Severity and type of an issue, as FHIR's value sets have them.
struct IssueKind {
  std::string_view severity;
  std::string_view code;
};

IssueKind kind_of(const Finding& finding) {
  if (finding.rule == "unreadable") return {"fatal", "structure"};
  if (finding.rule == "internal") return {"fatal", "exception"};
  const std::string_view code = finding.rule == "doubtful-value" ? "value" : "business-rule";
  switch (finding.grade) {
    case Grade::Hold:
    case Grade::Clarify:
      return {"error", code};
    case Grade::Caution:
      return {"warning", code};
    case Grade::Note:
      break;
  }
  return {"information", code};
}

IssueKind kind_of(const Verdict& verdict) {
  for (const Finding& finding : verdict.findings)
    if (kind_of(finding).severity == "fatal") return kind_of(finding);
  switch (verdict.outcome) {
    case Outcome::Hold:
    case Outcome::Clarify:
      return {"error", "business-rule"};
    case Outcome::Incomplete:
      return {"error", "incomplete"};
    case Outcome::Caution:
      return {"warning", "business-rule"};
    case Outcome::Note:
      return {"information", "business-rule"};
    case Outcome::Outside:
      return {"information", "not-supported"};
    case Outcome::Clear:
    case Outcome::Recorded:
      break;
  }
  return {"information", "informational"};
}

/// What the outcome means, so that nobody takes it for more.
std::string_view meaning(Outcome outcome) {
  switch (outcome) {
    case Outcome::Clear:
      return "checked, and nothing was found; this does not approve the order";
    case Outcome::Note:
      return "worth knowing";
    case Outcome::Caution:
      return "read before dispensing";
    case Outcome::Incomplete:
      return "the check could not be completed";
    case Outcome::Clarify:
      return "ask the prescriber first";
    case Outcome::Hold:
      return "do not dispense as it stands";
    case Outcome::Outside:
      return "not checked";
    case Outcome::Recorded:
      return "kept as history, not checked";
  }
  return "";
}

/// A text that FHIR's type string takes: no control characters.
void append_text(std::string& out, std::string_view text) {
  std::string plain;
  append_plain(plain, text);
  append_json(out, plain);
}

/// One issue of a resource that is being written.
class Issue {
 public:
  Issue(std::string& out, bool first, IssueKind kind, std::string_view text) : out_(out) {
    out_ += first ? "{\"severity\":\"" : ",{\"severity\":\"";
    out_ += kind.severity;
    out_ += "\",\"code\":\"";
    out_ += kind.code;
    out_ += "\",\"details\":{\"text\":";
    append_text(out_, text);
    out_ += '}';
  }
  Issue& diagnostics(std::string_view text) {
    out_ += ",\"diagnostics\":";
    append_text(out_, text);
    return *this;
  }
  void expression(std::string_view at) {
    if (at.empty()) return;
    out_ += places_++ == 0 ? ",\"expression\":[" : ",";
    append_text(out_, at);
  }
  void end() { out_ += places_ > 0 ? "]}" : "}"; }

 private:
  std::string& out_;
  unsigned places_ = 0;
};

constexpr std::string_view kBegin = "{\"resourceType\":\"OperationOutcome\",\"issue\":[";

std::string joined(const std::vector<std::string_view>& names) {
  std::string text;
  for (const std::string_view name : names)
    text.append(text.empty() ? "" : ", ").append(name);
  return text;
}

std::string count_of_rules(std::size_t count) {
  return std::to_string(count) + (count == 1 ? " rule" : " rules");
}

void append_finding(std::string& out, const Finding& finding, const Verdict& verdict,
                    const engine::OrderBlock& block, const engine::OrderSource& source) {
  Issue issue(out, false, kind_of(finding), question_text(finding.say, finding.ask));
  std::string rule = std::string(finding.rule) + " (" + std::string(engine::name(finding.grade));
  rule += ')';
  if (!finding.cite.empty()) rule.append("; ").append(finding.cite);
  if (!finding.earlier.why.empty()) rule.append("; ").append(finding.earlier.why);
  issue.diagnostics(rule);
  if (finding.fields.empty()) issue.expression(source.record_place(block, verdict.lane).at);
  engine::Place place;
  std::string before;
  for (const engine::BlamedField& field : finding.fields) {
    source.position(block, verdict.lane, field.field, field.origin, place);
    if (place.at != before) issue.expression(place.at);
    before = place.at;
  }
  issue.end();
}

void append_not_assessed(std::string& out, const NotAssessed& entry) {
  std::string text = entry.missing;
  text.append(engine::lack_word(entry.missing))
      .append(": ")
      .append(count_of_rules(entry.rules.size()));
  Issue issue(out, false, {"information", "incomplete"}, text.append(" not assessed"));
  issue.diagnostics(joined(entry.rules)).end();
}

void append_answered(std::string& out, const engine::Answered& item) {
  Issue issue(out, false, {"information", "informational"}, question_text(item.say, item.ask));
  issue.diagnostics(std::string(item.rule) + "; " + answer_sentence(*item.answer)).end();
}

void append_muted(std::string& out, const engine::Hidden& item) {
  Issue issue(out, false, {"information", "informational"}, item.say);
  std::string why = std::string(item.rule) + " (" + std::string(engine::name(item.grade)) + "), ";
  why += item.change == nullptr ? std::string("muted") : change_sentence(*item.change);
  issue.diagnostics(why).end();
}

}  // namespace

void OutcomeWriter::begin(const Run& run) {
  inputs_ = run.inputs;
  run_ = "rules " + run.rules;
  if (!run.changes.empty())
    run_ += ", with " + std::to_string(run.changes.size()) + " local changes";
}

void OutcomeWriter::write(const Verdict& verdict, const engine::OrderBlock& block,
                          const engine::OrderSource& source) {
  std::string& out = output_.text();
  out += kBegin;
  std::string text = verdict.order.empty() ? "A record without an order number"
                                           : "Order " + std::string(verdict.order);
  if (!verdict.patient.empty()) text += " of patient " + std::string(verdict.patient);
  text.append(": ").append(engine::name(verdict.outcome));
  text.append(" (").append(meaning(verdict.outcome)).append(")");
  if (!verdict.reason.empty()) text += ": " + verdict.reason;
  Issue issue(out, true, kind_of(verdict), text);
  std::string about = run_ + "; as of " + engine::format_day(verdict.as_of_day) + "; history: ";
  about += verdict.history == engine::HistoryScope::Store ? "store" : "this input";
  if (inputs_ > 1) about += "; input " + input_;
  issue.diagnostics(about);
  issue.expression(source.record_place(block, verdict.lane).at);
  issue.end();
  for (const Finding& finding : verdict.findings)
    append_finding(out, finding, verdict, block, source);
  for (const NotAssessed& entry : verdict.not_assessed)
    append_not_assessed(out, entry);
  for (const engine::Answered& item : verdict.answered)
    append_answered(out, item);
  for (const engine::Hidden& item : verdict.muted)
    append_muted(out, item);
  out += "]}\n";
  output_.piece_done();
}

void OutcomeWriter::never_assessed(const std::vector<NotAssessed>& missing) {
  if (missing.empty()) return;
  std::string& out = output_.text();
  out += kBegin;
  Issue(out, true, {"information", "not-supported"},
        "What input " + input_ +
            " never carries, and the rules that are not assessed for it, or only in part")
      .diagnostics(run_)
      .end();
  for (const NotAssessed& entry : missing) {
    Issue issue(out, false, {"information", "not-supported"},
                entry.missing + ": " + count_of_rules(entry.rules.size()) +
                    " not assessed, or only in part");
    issue.diagnostics(joined(entry.rules)).end();
  }
  out += "]}\n";
  output_.piece_done();
}

}  // namespace meniscus::adapters::fhir
