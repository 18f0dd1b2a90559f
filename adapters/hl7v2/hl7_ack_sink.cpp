// Gathers a message's verdicts lane by lane and writes the answer after its last.
#include "adapters/hl7v2/hl7_ack_sink.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include "adapters/hl7v2/batch_count.hpp"
#include "adapters/hl7v2/codes.hpp"
#include "adapters/hl7v2/escape.hpp"
#include "adapters/hl7v2/hl7_source.hpp"
#include "adapters/hl7v2/location.hpp"
#include "adapters/hl7v2/merges.hpp"
#include "engine/answers/answer.hpp"
#include "engine/quantity/calendar.hpp"
#include "engine/verdict/lack.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::FieldId;
using engine::Grade;
using engine::Outcome;
using engine::RecordKind;

constexpr std::string_view kApplicationError = "207^Application error^HL70357";
constexpr std::string_view kUnsupportedKind = "200^Unsupported message type^HL70357";
constexpr std::string_view kDuplicateKey = "205^Duplicate key identifier^HL70357";
constexpr std::string_view kFieldMissing = "101^Required field missing^HL70357";
constexpr std::string_view kSystem = "MNS";

struct ResponseKind {
  std::string_view request;
  std::string_view response;
  std::string_view event;      // 2.4 and later
  std::string_view old_event;  // before 2.4, and where the sender's own event is O01
};
constexpr std::array<ResponseKind, 6> kResponses = {{{"RDE", "RRE", "O12", "O02"},
                                                     {"OMP", "ORP", "O10", "O10"},
                                                     {"ORM", "ORR", "O02", "O02"},
                                                     {"RDS", "RRD", "O14", "O02"},
                                                     {"RGV", "RRG", "O16", "O02"},
                                                     {"RAS", "RRA", "O18", "O02"}}};

char severity(Grade grade) {
  switch (grade) {
    case Grade::Note:
      return 'I';
    case Grade::Caution:
      return 'W';
    case Grade::Clarify:
    case Grade::Hold:
      return 'E';
  }
  return 'E';
}

bool is_accepted(Outcome outcome, Outcome threshold) {
  switch (outcome) {
    case Outcome::Clear:
    case Outcome::Recorded:
      return true;
    case Outcome::Note:
    case Outcome::Caution:
    case Outcome::Clarify:
    case Outcome::Hold:
      return outcome < threshold;
    case Outcome::Incomplete:
    case Outcome::Outside:
      return false;
  }
  return false;
}

/// ERR-2: segment ^ sequence ^ field ^ repetition ^ component ^ subcomponent.
std::string err_location(const Path& path, char separator) {
  std::string out = path.segment;
  if (out.empty()) return out;
  const auto add = [&](unsigned number) {
    out += separator;
    out += std::to_string(number);
  };
  add(std::max(1U, path.occurrence));
  if (path.field == 0) return out;
  add(path.field);
  if (path.component == 0 && path.repetition == 0) return out;
  add(std::max(1U, path.repetition));
  if (path.component > 0) add(path.component);
  if (path.subcomponent > 0) add(path.subcomponent);
  return out;
}

/// Our own text has `^` between components; the sender may use another character.
void append_components(std::string_view text, const Delimiters& d, std::string& out) {
  for (const char c : text)
    out += c == '^' ? d.component : c;
}

bool is_before(std::string_view version, std::string_view limit) {
  return !version.empty() && version.substr(0, 3) < limit;
}

bool is_old(const Message& m, const Segment& msh) {
  return is_before(m.first(m.field(msh, 12), 1), "2.4");
}

/// MSH-9 of the general acknowledgement: ACK^event^ACK, two parts before 2.4.
std::string general_type(const Message& m, const Segment& msh) {
  const std::string event(trim(m.first(m.field(msh, 9), 2)));
  if (event.empty()) return "ACK";
  return "ACK^" + event + (is_old(m, msh) ? "" : "^ACK");
}

std::string response_type(const ResponseKind& kind, const Message& m, const Segment& msh) {
  const std::string_view asked = trim(m.first(m.field(msh, 9), 2));
  std::string event(asked == "O01" ? kind.old_event : kind.event);
  if (asked == "O25") event = "O26";
  std::string type = std::string(kind.response) + "^" + event;
  if (!is_old(m, msh)) type += "^" + std::string(kind.response) + "_" + event;
  return type;
}

bool asks(std::string_view condition, bool error) {
  return condition == "AL" || (condition == "ER" && error) || (condition == "SU" && !error);
}

}  // namespace

bool refuses_an_order(std::string_view answers) {
  while (!answers.empty()) {
    const std::size_t end = std::min(answers.find('\r'), answers.size());
    const std::string_view name = answers.substr(0, std::min<std::size_t>(3, end));
    const std::string_view code = answers.substr(0, end).substr(std::min<std::size_t>(4, end), 2);
    if ((name == "MSA" && code == "AE") || (name == "ORC" && code == "UA")) return true;
    answers.remove_prefix(std::min(end + 1, answers.size()));
  }
  return false;
}

namespace {

/// `grade hold; source`, `outcome incomplete`: what it names.
std::optional<Outcome> outcome_named(std::string_view diagnostic) {
  for (const std::string_view lead : {"grade ", "outcome "}) {
    if (!diagnostic.starts_with(lead)) continue;
    const std::string_view named =
        diagnostic.substr(lead.size(), diagnostic.find(';') - lead.size());
    for (const Outcome outcome :
         {Outcome::Note, Outcome::Caution, Outcome::Incomplete, Outcome::Clarify, Outcome::Hold})
      if (named == name(outcome)) return outcome;
  }
  return std::nullopt;
}

}  // namespace

std::optional<Outcome> outcome_in(std::string_view answers) {
  constexpr std::size_t kDiagnostic = 7;  // ERR-7
  std::optional<Outcome> gravest;
  while (!answers.empty()) {
    const std::size_t end = std::min(answers.find('\r'), answers.size());
    std::string_view segment = answers.substr(0, end);
    const char separator = segment.size() > 3 && segment.starts_with("ERR") ? segment[3] : '\0';
    for (std::size_t field = 0; separator != '\0' && field < kDiagnostic; ++field)
      segment.remove_prefix(std::min(segment.find(separator), segment.size() - 1) + 1);
    if (separator != '\0') {
      const auto named = outcome_named(segment.substr(0, segment.find(separator)));
      if (named) gravest = std::max(gravest.value_or(*named), *named);
    }
    answers.remove_prefix(std::min(end + 1, answers.size()));
  }
  return gravest;
}

Hl7AckSink::Hl7AckSink(const AckPolicy& policy, Output output, Now now,
                       const engine::Program* program)
    : policy_(policy), output_(std::move(output)), now_(std::move(now)), program_(program) {}

std::string_view Hl7AckSink::title_of(std::string_view rule) const {
  if (program_ != nullptr) {
    const auto at = std::ranges::find(program_->rules, rule, &engine::Rule::name);
    if (at != program_->rules.end()) return at->title;
  }
  return {};
}

void Hl7AckSink::begin_message(const engine::RecordInfo& record) {
  const std::string_view text = record.text;
  const bool has_header = text.starts_with("MSH");
  header_text_ = has_header ? first_line(text) : "MSH|^~\\&||||||||||2.5.1";
  message_.parse(header_text_);
  const std::string_view version = message_.first(message_.field(message_.segments()[0], 12), 1);
  modern_ = !is_before(version, "2.5");
  is_split_ = false;
  totals_ = {};
  errors_.clear();
  locations_.clear();
  text_.clear();
  orders_.clear();
  open_ = true;
}

std::string Hl7AckSink::location_of(const engine::BlamedField& field,
                                    const engine::RecordInfo& record) {
  const Path path = field.origin.length > 0
                        ? path_of(whole(record), field.origin)
                        : absent_path(whole(record), record.reason_origin, field.field);
  const Delimiters& d = message_.delimiters();
  return err_location(path, modern_ ? d.component : d.subcomponent);
}

const Message& Hl7AckSink::whole(const engine::RecordInfo& record) {
  if (split_ != nullptr) return *split_;
  if (!std::exchange(is_split_, true)) whole_.parse(record.text);
  return whole_;
}

std::string Hl7AckSink::order_location(const engine::RecordInfo& record) {
  const Delimiters& d = message_.delimiters();
  const char separator = modern_ ? d.component : d.subcomponent;
  if (split_ == nullptr && !is_split_ && !message_.characters().hides_separators()) {
    const auto path = segment_path(record.text, record.reason_origin.offset, d.field);
    if (path) return err_location(*path, separator);
  }
  return err_location(path_of(whole(record), record.reason_origin), separator);
}

void Hl7AckSink::add_error(std::string_view location, std::string_view condition, char grade,
                           std::string_view code, std::string_view diagnostic,
                           std::string_view user) {
  const Delimiters& d = message_.delimiters();
  if (!modern_) {
    // ELD: segment ^ sequence ^ field position ^ code of the error.
    if (!locations_.empty()) locations_ += d.repetition;
    std::string flat(location);
    std::ranges::replace(flat, d.subcomponent, d.component);
    unsigned separators = 0;
    for (const char c : flat) {
      if (c == d.component && ++separators == 3) break;
      locations_ += c;
    }
    // The loop stops before the third separator, or the text has fewer.
    for (unsigned n = std::min(separators, 2U); n < 3; ++n)
      locations_ += d.component;
    for (const char c : condition)
      locations_ += c == '^' ? d.subcomponent : c;
    if (text_.empty()) text_ = user;
    return;
  }
  errors_ += "ERR";
  errors_ += d.field;
  errors_ += d.field;
  errors_ += location;
  errors_ += d.field;
  append_components(condition, d, errors_);
  errors_ += d.field;
  errors_ += grade;
  errors_ += d.field;
  append_escaped(code, d, errors_);
  errors_ += d.component;
  append_escaped(title_of(code), d, errors_);
  errors_ += d.component;
  errors_ += kSystem;
  errors_ += d.field;
  errors_ += d.field;
  append_escaped(diagnostic, d, errors_);
  errors_ += d.field;
  append_escaped(user, d, errors_);
  errors_ += '\r';
}

void Hl7AckSink::add_header_error(unsigned field, std::string_view condition,
                                  std::string_view user) {
  const Delimiters& d = message_.delimiters();
  const Path path{"MSH", 1, field, 0, 0, 0};
  add_error(err_location(path, modern_ ? d.component : d.subcomponent), condition, 'E',
            "unreadable", "", user);
}

void Hl7AckSink::add_finding(const engine::Finding& finding, const engine::RecordInfo& record) {
  std::string location;
  for (const engine::BlamedField& field : finding.fields) {
    const std::string one = location_of(field, record);
    if (one.empty() || location.find(one) != std::string::npos) continue;
    if (!location.empty()) location += message_.delimiters().repetition;
    location += one;
    if (!modern_) break;
  }
  if (location.empty()) location = order_location(record);
  std::string user = finding.say;
  if (!finding.ask.empty()) user += " " + finding.ask;
  if (!finding.earlier.why.empty()) user += " (" + finding.earlier.why + ")";
  std::string diagnostic = "grade " + std::string(name(finding.grade));
  if (!finding.cite.empty()) diagnostic += "; " + std::string(finding.cite);
  add_error(location, finding.rule == kControlIdUsed ? kDuplicateKey : kApplicationError,
            severity(finding.grade), finding.rule, diagnostic, user);
}

void Hl7AckSink::add_not_assessed(const engine::Verdict& verdict,
                                  const engine::RecordInfo& record) {
  if (verdict.not_assessed.empty()) return;
  std::string user = "Not assessed: ";
  bool first = true;
  for (const engine::NotAssessed& line : verdict.not_assessed) {
    if (!first) user += "; ";
    first = false;
    user.append(line.missing).append(engine::lack_word(line.missing)).append(" (");
    user += std::to_string(line.rules.size());
    user += line.rules.size() == 1 ? " rule)" : " rules)";
  }
  add_error(order_location(record), kApplicationError, 'I', "not-assessed",
            "outcome " + std::string(name(verdict.outcome)), user);
}

void Hl7AckSink::add_answered(const engine::Verdict& verdict, const engine::RecordInfo& record) {
  for (const engine::Answered& item : verdict.answered) {
    const engine::Answer& answer = *item.answer;
    std::string user = "Answered here (" + answer.text + "): " + item.say;
    if (!item.ask.empty()) user += " " + item.ask;
    add_error(order_location(record), kApplicationError, 'I', item.rule,
              "answered on " + engine::format_day(answer.on) + "; until " +
                  engine::format_day(answer.until) + "; by " + answer.by,
              user);
  }
}

void Hl7AckSink::add_muted(const engine::Verdict& verdict, const engine::RecordInfo& record) {
  for (const engine::Hidden& hidden : verdict.muted) {
    const engine::LocalChange& change = *hidden.change;
    std::string diagnostic = "muted; grade " + std::string(name(hidden.grade));
    if (change.until) diagnostic += "; until " + engine::format_day(*change.until);
    diagnostic += "; by " + change.by;
    add_error(order_location(record), kApplicationError, 'I', hidden.rule, diagnostic,
              "Muted here (" + change.because + "): " + hidden.say);
  }
}

void Hl7AckSink::add_order(const engine::Verdict& verdict, const engine::OrderBlock& block,
                           bool accepted) {
  const Delimiters& d = message_.delimiters();
  orders_ += "ORC";
  orders_ += d.field;
  orders_ += accepted ? "OK" : "UA";
  // The placer's and the filler's number, as they came.
  const engine::RecordInfo& record = block.record(verdict.lane);
  for (const FieldId field : {FieldId::OrderId, FieldId::OrderFiller}) {
    orders_ += d.field;
    const engine::Origin at = block.origin(verdict.lane, field);
    const bool is_number =
        field == FieldId::OrderFiller || at != block.origin(verdict.lane, FieldId::OrderFiller);
    if (is_number && at.length > 0) orders_ += record.text.substr(at.offset, at.length);
  }
  orders_ += '\r';
}

void Hl7AckSink::write(const engine::Verdict& verdict, const engine::OrderBlock& block,
                       const engine::OrderSource& source) {
  const engine::RecordInfo& record = block.record(verdict.lane);
  const auto* framed = dynamic_cast<const FramedSource*>(&source);
  MessageFrame frame{false, true, record.text.starts_with("MSH"), nullptr};
  if (framed != nullptr) frame = framed->frame(verdict.lane);
  if (!frame.message) {
    // A trailer is no message; other text is refused, so that its sender hears of it.
    if (is_of_no_message(record.text)) return;
    frame.last = true;
  }
  if (!open_) begin_message(record);
  split_ = frame.split;
  ++totals_.lanes;
  const bool unreadable = record.kind == RecordKind::Unreadable;
  const bool outside = verdict.outcome == Outcome::Outside;
  const bool accepted = !unreadable && is_accepted(verdict.outcome, policy_.threshold);
  if (unreadable) ++totals_.unreadable;
  if (outside) ++totals_.outside;
  if (!accepted && !unreadable && !outside) ++totals_.held;
  for (const engine::Finding& finding : verdict.findings)
    add_finding(finding, record);
  if (outside) {
    add_error(order_location(record), kApplicationError, 'I', "outside", "not judged",
              verdict.reason);
  } else if (record.kind != RecordKind::Merge && !is_merge(message_)) {
    add_order(verdict, block, accepted);
  }
  add_not_assessed(verdict, record);
  add_answered(verdict, record);
  add_muted(verdict, record);
  if (frame.last) answer(frame.framed);
}

void Hl7AckSink::append_header(std::string_view type, bool accept, std::string& out) {
  const Delimiters& d = message_.delimiters();
  const Segment& msh = message_.segments()[0];
  const auto copy = [&](unsigned number) {
    out += d.field;
    out += message_.field(msh, number);
  };
  const std::string now = now_();
  out += "MSH";
  out += d.field;
  for (const char c : {d.component, d.repetition, d.escape, d.subcomponent})
    out += c;
  if (d.truncation != 0) out += d.truncation;
  for (const unsigned number : {5U, 6U, 3U, 4U})
    copy(number);
  out += d.field;
  out += now;
  out += d.field;
  out += d.field;
  append_components(type, d, out);
  out += d.field;
  out.append(now, 0, 14).append("-").append(std::to_string(++sequence_));
  copy(11);
  copy(12);
  if (!accept) {
    // What follows is UTF-8.
    out.append(6, d.field);
    out += "UNICODE UTF-8";
  }
  out += '\r';
}

std::string& Hl7AckSink::begin_answer(bool framed) {
  answer_.clear();
  if (framed) answer_ += '\x0B';
  return answer_;
}

void Hl7AckSink::send(bool framed) {
  if (framed) answer_ += "\x1C\r";
  failed_ = !output_(answer_) || failed_;
}

void Hl7AckSink::append_body(std::string_view code, std::string& out) const {
  const Delimiters& d = message_.delimiters();
  out += "MSA";
  out += d.field;
  out += code;
  out += d.field;
  out += message_.field(message_.segments()[0], 10);
  const bool bad = code != "AA" && code != "CA";
  if (code == "CA") {
    out += '\r';
    return;
  }
  if (!modern_ && !text_.empty()) {
    out += d.field;
    append_escaped(text_, d, out);
  }
  out += '\r';
  if (!modern_ && !locations_.empty() && (bad || !text_.empty())) {
    out += "ERR";
    out += d.field;
    out += locations_;
    out += '\r';
  }
  out += errors_;
}

std::string_view Hl7AckSink::answer_code(bool refused, bool responds) const {
  if (refused) return "AR";
  if (message_.field(message_.segments()[0], 10).empty()) return "AE";
  const bool held = totals_.held > 0 || totals_.unreadable > 0;
  // Without an order response nothing but AE can say that an order is held.
  return held && (policy_.on_hold == OnHold::Ae || !responds) ? "AE" : "AA";
}

void Hl7AckSink::answer(bool framed) {
  open_ = false;
  const Segment& msh = message_.segments()[0];
  const std::string_view kind = trim(message_.first(message_.field(msh, 9), 1));
  if (kind == "ACK" || kind == "MCF") return;  // an answer is never answered
  const auto* response = std::ranges::find(kResponses, kind, &ResponseKind::request);
  const bool known =
      response != kResponses.end() || kind == "VXU" || kind == "PPR" || is_merge(message_);
  const bool unsupported = !known && totals_.outside == totals_.lanes;
  const bool refused = totals_.unreadable == totals_.lanes || unsupported;
  if (unsupported) add_header_error(9, kUnsupportedKind, "This kind of message is not read.");
  if (message_.field(msh, 10).empty())
    add_header_error(10, kFieldMissing, "The message has no control id.");
  const bool responds = response != kResponses.end() && !orders_.empty() && !refused;
  const std::string_view code = answer_code(refused, responds);
  const std::string_view accept_asked = trim(message_.field(msh, 15));
  const std::string_view answer_asked = trim(message_.field(msh, 16));
  const bool enhanced = !accept_asked.empty() || !answer_asked.empty();
  if (enhanced && asks(accept_asked, refused)) {
    std::string& out = begin_answer(framed);
    append_header(general_type(message_, msh), true, out);
    append_body(refused ? "CR" : "CA", out);
    send(framed);
    if (refused) return;  // nothing follows a reject
  }
  const bool held = totals_.held > 0 || totals_.unreadable > 0;
  if (enhanced && !asks(answer_asked, code != "AA") && !held) return;
  std::string& out = begin_answer(framed);
  append_header(responds ? response_type(*response, message_, msh) : general_type(message_, msh),
                false, out);
  append_body(code, out);
  if (responds) out += orders_;
  send(framed);
}

engine::Status Hl7AckSink::finish() {
  if (failed_) return engine::Error{engine::Errc::Input, "the answers could not be written", 0, 0};
  return engine::Done{};
}

}  // namespace meniscus::adapters::hl7v2
