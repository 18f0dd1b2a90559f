// Contract: see sarif_writer.hpp.
#include "adapters/report/sarif_writer.hpp"

#include <algorithm>
#include <utility>

#include "adapters/report/local_changes.hpp"

namespace meniscus::adapters {

namespace {
/// Kind and level of a result: SARIF 2.1.0, sections 3.27.9 and 3.27.10.
std::pair<std::string_view, std::string_view> kind_and_level(Weight weight) {
  switch (weight) {
    case Weight::Error:
      return {"fail", "error"};
    case Weight::Warning:
      return {"fail", "warning"};
    case Weight::Note:
      return {"fail", "note"};
    case Weight::Open:
      return {"open", "none"};
    case Weight::NotApplicable:
      break;
  }
  return {"notApplicable", "none"};
}

/// What rules that no rule file holds are for.
std::string_view built_in_title(std::string_view rule) {
  if (rule == engine::kUnreadable) return "What cannot be read as an order";
  if (rule == engine::kDoubtfulValue) {
    return "A value that cannot be read, or could mean two things";
  }
  if (rule == engine::kInternal) return "An error of the program itself: the order is not checked";
  if (rule == kIncomplete) return "A rule that could ask or stop could not be checked";
  if (rule == kNotAssessed) return "Rules that could not be decided for lack of data";
  return "An order that is no injection is not checked";
}

/// `{"text":"..."}`: a message, whose text has no control characters.
void append_message(std::string& out, std::string_view text) {
  std::string plain;
  append_plain(plain, text);
  out += "{\"text\":";
  append_json(out, plain);
  out += '}';
}

bool is_unreserved(char c) {
  constexpr std::string_view kMarks = "-._~/";
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
         kMarks.find(c) != std::string_view::npos;
}

/// One notification; `list` holds those before it.
void append_notification(std::string& list, std::string_view id, std::string_view level,
                         std::string_view sentence) {
  list += list.empty() ? "\n    {\"descriptor\":{\"id\":" : ",\n    {\"descriptor\":{\"id\":";
  append_json(list, id);
  list += '}';
  append_key(list, "level", level);
  list += ",\"message\":";
  append_message(list, sentence);
  list += '}';
}

void append_region(std::string& out, const engine::Place& place, bool whole_record) {
  out += ",\"region\":{\"startLine\":";
  append_number(out, place.line);
  out += ",\"startColumn\":";
  append_number(out, place.column);
  // Without an end a region reaches to the end of its line (section 3.30.8).
  if (!whole_record) {
    out += ",\"endColumn\":";
    append_number(out, place.column + place.width);
  }
  out += '}';
}

std::string_view exit_description(int status) {
  constexpr std::string_view kMeanings[] = {
      "nothing at or above the grade of --fail-at", "something at or above the grade of --fail-at",
      "some input could not be read", "bad usage, configuration or rules", "internal error"};
  return status >= 0 && status < 5 ? kMeanings[status] : std::string_view();
}
}  // namespace

std::string uri_of(std::string_view settled_name) {
  constexpr std::string_view kHex = "0123456789ABCDEF";
  std::string uri = settled_name.starts_with('/') ? "file://" : "";
  for (const char c : settled_name) {
    if (is_unreserved(c)) {
      uri += c;
      continue;
    }
    const auto byte = static_cast<unsigned char>(c);
    uri += '%';
    uri += kHex[byte >> 4U];
    uri += kHex[byte & 15U];
  }
  return uri;
}

SarifWriter::SarifWriter(WriteBytes write, const engine::Program& program)
    : output_(std::move(write)), program_(program) {}

void SarifWriter::begin(const Run& run) {
  output_.text() +=
      "{\"$schema\":\"https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/"
      "sarif-schema-2.1.0.json\",\n \"version\":\"2.1.0\",\n \"runs\":[{\n"
      "  \"columnKind\":\"unicodeCodePoints\",\n  \"results\":[";
  for (const engine::LocalChange& change : run.changes)
    append_notification(settings_, "local-change", "note", change_sentence(change));
}

void SarifWriter::begin_input(std::string_view name) {
  file_ = settled_name(name);
  uri_ = uri_of(file_);
}

void SarifWriter::write(const engine::Verdict& verdict, const engine::OrderBlock& block,
                        const engine::OrderSource& source) {
  for (const DataItem& item : items_of(verdict, block, source, file_))
    append_result(item, verdict.order);
  output_.piece_done();
}

void SarifWriter::append_result(const DataItem& item, std::string_view order) {
  std::string& out = output_.text();
  const auto [kind, level] = kind_and_level(item.weight);
  out += first_result_ ? "\n   {\"ruleId\":" : ",\n   {\"ruleId\":";
  first_result_ = false;
  append_json(out, item.rule);
  out += ",\"ruleIndex\":";
  append_number(out, rule_index(item.rule));
  append_key(out, "kind", kind);
  append_key(out, "level", level);
  out += ",\"message\":";
  append_message(out, item.message);
  out += ",\"locations\":[";
  append_location(item.fields.empty() ? nullptr : item.fields.data(), item.place());
  out += ']';
  append_related(item);
  if (item.key) {
    out += ",\"partialFingerprints\":{\"meniscusFinding/v1\":";
    append_json(out, item.key->fingerprint());
    out += '}';
  }
  if (!item.suppressed.empty()) {
    out += ",\"suppressions\":[{\"kind\":\"external\",\"status\":\"accepted\",\"justification\":";
    std::string plain;
    append_plain(plain, item.suppressed);
    append_json(out, plain);
    out += "}]";
  }
  out += ",\"properties\":{\"order\":";
  append_json(out, order);
  append_key(out, "grade", item.grade);
  out += "}}";
}

void SarifWriter::append_location(const PlacedField* field, const engine::Place& place) {
  std::string& out = output_.text();
  out += "{\"physicalLocation\":{\"artifactLocation\":{\"uri\":";
  append_json(out, uri_);
  out += '}';
  if (place.line != 0) append_region(out, place, field == nullptr);
  out += '}';
  if (field != nullptr || !place.at.empty()) {
    out += ",\"logicalLocations\":[{";
    if (field != nullptr) {
      out += "\"name\":";
      append_json(out, field->name);
      out += ',';
    }
    out += "\"fullyQualifiedName\":";
    append_json(out, place.at);
    out += place.at.starts_with('/') ? ",\"kind\":\"property\"}]" : ",\"kind\":\"element\"}]";
  }
  out += '}';
}

void SarifWriter::append_related(const DataItem& item) {
  if (item.fields.size() < 2) return;
  std::string& out = output_.text();
  const char* separator = ",\"relatedLocations\":[";
  for (std::size_t i = 1; i < item.fields.size(); ++i) {
    out += separator;
    separator = ",";
    append_location(&item.fields[i], item.fields[i].place);
  }
  out += ']';
}

std::size_t SarifWriter::rule_index(std::string_view rule) {
  const auto known = rule_indexes_.find(rule);
  if (known != rule_indexes_.end()) return known->second;
  rules_.emplace_back(rule);
  rule_indexes_.emplace(rule, rules_.size() - 1);
  return rules_.size() - 1;
}

void SarifWriter::never_assessed(const std::vector<engine::NotAssessed>& missing) {
  for (const engine::NotAssessed& entry : missing)
    notify("never-carried", "note",
           "in no order of " + file_ + ": " + never_carried_sentence(entry));
}

void SarifWriter::not_opened(std::string_view sentence) {
  notify("input-not-opened", "error", sentence);
}

void SarifWriter::notify(std::string_view id, std::string_view level, std::string_view sentence) {
  append_notification(notifications_, id, level, sentence);
}

void SarifWriter::append_descriptor(std::string_view rule) {
  std::string& out = output_.text();
  const auto found =
      std::find_if(program_.rules.begin(), program_.rules.end(),
                   [rule](const engine::Rule& candidate) { return candidate.name == rule; });
  const bool ours = found == program_.rules.end();
  out += "{\"id\":";
  append_json(out, rule);
  out += ",\"shortDescription\":";
  append_message(out, ours ? built_in_title(rule) : std::string_view(found->title));
  out += ",\"help\":";
  append_message(
      out, ours || found->cite.empty() ? "A rule of the program itself" : "Source: " + found->cite);
  out += '}';
}

void SarifWriter::append_tool() {
  std::string& out = output_.text();
  out += "],\n  \"tool\":{\"driver\":{\"name\":\"meniscus\",\"semanticVersion\":";
  append_json(out, MENISCUS_VERSION);
  out += ",\"properties\":{\"rules\":";
  append_json(out, program_.hash);
  out += "},\"rules\":[";
  const char* separator = "\n    ";
  for (const std::string& rule : rules_) {
    out += separator;
    separator = ",\n    ";
    append_descriptor(rule);
  }
  out += "]}}";
}

void SarifWriter::end_run(const RunEnd& end) {
  for (const std::string& sentence : end.said)
    notify("run", "note", sentence);
  append_tool();
  std::string& out = output_.text();
  out += ",\n  \"invocations\":[{\"executionSuccessful\":";
  out += end.broken ? "false" : "true";
  out += ",\"exitCode\":";
  append_number(out, static_cast<std::uint64_t>(end.exit_status));
  append_key(out, "exitCodeDescription", exit_description(end.exit_status));
  out += ",\n   \"toolExecutionNotifications\":[" + notifications_ + "]";
  out += ",\n   \"toolConfigurationNotifications\":[" + settings_ + "]}]\n }]}\n";
}

}  // namespace meniscus::adapters
