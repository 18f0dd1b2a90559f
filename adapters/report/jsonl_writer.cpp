// Contract: see jsonl_writer.hpp.
#include "adapters/report/jsonl_writer.hpp"

#include <functional>

#include "adapters/report/answered.hpp"
#include "adapters/report/local_changes.hpp"
#include "engine/order/field.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {

namespace {
using engine::BlamedField;
using engine::Finding;
using engine::NotAssessed;
using engine::OrderBlock;
using engine::OrderSource;
using engine::Place;
using engine::Slip;
using engine::Verdict;

void append_position(std::string& out, const Place& place) {
  out += "\"at\":";
  append_json(out, place.at);
  out += ",\"line\":";
  append_number(out, place.line);
  out += ",\"column\":";
  append_number(out, place.column);
}

void append_field(std::string& out, const BlamedField& field, const Place& place) {
  out += "{\"name\":\"";
  out += engine::info(field.field).name;
  out += "\",\"value\":";
  append_json(out, field.value);
  out += ',';
  append_position(out, place);
  if (field.from_text) out += ",\"from\":\"text\"";
  out += '}';
}

void append_fields(std::string& out, const Finding& finding, unsigned lane, const OrderBlock& block,
                   const OrderSource& source, Place& place) {
  out += ",\"fields\":[";
  const char* separator = "";
  for (const BlamedField& field : finding.fields) {
    out += separator;
    separator = ",";
    source.position(block, lane, field.field, field.origin, place);
    append_field(out, field, place);
  }
  out += ']';
  if (!finding.fields.empty()) return;
  out += ",\"place\":{";
  append_position(out, source.record_place(block, lane));
  out += '}';
}

void append_not_assessed(std::string& out, const NotAssessed& entry) {
  out += "{\"missing\":";
  append_json(out, entry.missing);
  out += ",\"rules\":[";
  const char* separator = "";
  for (const std::string_view rule : entry.rules) {
    out += separator;
    separator = ",";
    append_json(out, rule);
  }
  out += "]}";
}

void append_slip(std::string& out, const Slip& slip) {
  out += "{\"field\":";
  append_json(out, engine::info(slip.field).name);
  out += ",\"from\":";
  append_json(out, slip.from);
  out += ",\"to\":";
  append_json(out, slip.to);
  out += ",\"why\":";
  append_json(out, slip.why);
  out += ",\"clears\":[";
  const char* separator = "";
  for (const std::string_view rule : slip.clears) {
    out += separator;
    separator = ",";
    append_json(out, rule);
  }
  out += "]}";
}

std::string_view name(engine::HistoryScope scope) {
  switch (scope) {
    case engine::HistoryScope::Input:
      return "input";
    case engine::HistoryScope::Store:
      return "store";
  }
  return "";
}
}  // namespace

JsonLinesWriter::JsonLinesWriter(WriteBytes write, std::string_view rules_hash)
    : output_(std::move(write)) {
  rules_ = ",\"rules\":";
  append_json(rules_, rules_hash);
}

void JsonLinesWriter::begin(const Run& run) {
  several_inputs_ = run.inputs > 1;
  changes_.clear();
  append_changes_json(changes_, run.changes);
}

void JsonLinesWriter::begin_input(std::string_view name) {
  file_tail_.clear();
  never_.clear();
  if (!several_inputs_) return;
  file_tail_ = ",\"file\":";
  append_json(file_tail_, name);
}

void JsonLinesWriter::never_assessed(const std::vector<NotAssessed>& missing) {
  if (missing.empty()) return;
  never_ = ",\"never_assessed\":[";
  const char* separator = "";
  for (const NotAssessed& entry : missing) {
    never_ += separator;
    separator = ",";
    append_not_assessed(never_, entry);
  }
  never_ += ']';
}

const std::string& JsonLinesWriter::as_of(std::int64_t day) {
  Day& kept = days_.at(static_cast<std::uint64_t>(day) % kDays);
  if (kept.text.empty() || kept.number != day)
    kept = {day, ",\"as_of\":\"" + engine::format_day(day) + "\",\"history\":\""};
  return kept.text;
}

/// What is the same in all findings of a rule, as JSON: escaped once.
const JsonLinesWriter::RuleText& JsonLinesWriter::text_of(const Finding& finding) {
  const auto hash = std::hash<const void*>{}(finding.rule.data());
  RuleText& kept = rules_seen_.at((hash >> 3U) % kRules);
  if (kept.rule != finding.rule || kept.cite != finding.cite) {
    kept.rule = finding.rule;
    kept.cite = finding.cite;
    kept.head = "{\"rule\":";
    append_json(kept.head, finding.rule);
    kept.head += ",\"grade\":\"";
    kept.tail = ",\"cite\":";
    append_json(kept.tail, finding.cite);
  }
  return kept;
}

void JsonLinesWriter::append_finding(const Finding& finding, unsigned lane, const OrderBlock& block,
                                     const OrderSource& source) {
  std::string& out = output_.text();
  const RuleText& rule = text_of(finding);
  out += rule.head;
  out += engine::name(finding.grade);
  out += "\",\"group\":";
  append_number(out, finding.group);
  out += ",\"say\":";
  append_json(out, finding.say);
  out += ",\"ask\":";
  append_json(out, finding.ask);
  out += rule.tail;
  if (!finding.earlier.why.empty()) append_key(out, "reopened", finding.earlier.why);
  append_fields(out, finding, lane, block, source, place_);
  out += '}';
}

void JsonLinesWriter::write(const Verdict& verdict, const OrderBlock& block,
                            const OrderSource& source) {
  std::string& out = output_.text();
  out += "{\"order\":";
  append_json(out, verdict.order);
  out += ",\"patient\":";
  append_json(out, verdict.patient);
  out += ",\"outcome\":\"";
  out += engine::name(verdict.outcome);
  out += '"';
  if (!verdict.reason.empty()) {
    out += ",\"reason\":";
    append_json(out, verdict.reason);
  }
  out += ",\"findings\":[";
  const char* separator = "";
  for (const Finding& finding : verdict.findings) {
    out += separator;
    separator = ",";
    append_finding(finding, verdict.lane, block, source);
  }
  out += "],\"slips\":[";
  separator = "";
  for (const Slip& slip : verdict.slips) {
    out += separator;
    separator = ",";
    append_slip(out, slip);
  }
  out += "],\"not_assessed\":[";
  separator = "";
  for (const NotAssessed& entry : verdict.not_assessed) {
    out += separator;
    separator = ",";
    append_not_assessed(out, entry);
  }
  out += "],";
  append_hidden_json(out, verdict);
  append_answered_json(out, verdict);
  out += never_;
  never_.clear();
  out += changes_;
  out += as_of(verdict.as_of_day);
  out += name(verdict.history);
  out += '"';
  out += rules_;
  out += file_tail_;
  out += "}\n";
  output_.piece_done();
}

}  // namespace meniscus::adapters
