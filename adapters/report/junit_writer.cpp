// Contract: see junit_writer.hpp.
#include "adapters/report/junit_writer.hpp"

#include <algorithm>

#include "adapters/report/found.hpp"

namespace meniscus::adapters {

namespace {
using engine::Outcome;
using engine::Verdict;

bool has_finding(const Verdict& verdict, std::string_view rule) {
  return std::any_of(verdict.findings.begin(), verdict.findings.end(),
                     [rule](const engine::Finding& finding) { return finding.rule == rule; });
}

bool is_error(const Verdict& verdict) {
  return has_finding(verdict, engine::kUnreadable) || has_finding(verdict, engine::kInternal);
}

/// One line of plain text, as XML.
void append_plain_xml(std::string& out, std::string_view text) {
  std::string plain;
  append_plain(plain, text);
  append_xml(out, plain);
}

void append_attribute(std::string& out, std::string_view name, std::string_view value) {
  out.append(" ").append(name).append("=\"");
  append_plain_xml(out, value);
  out += '"';
}

void append_attribute(std::string& out, std::string_view name, std::uint64_t value) {
  out.append(" ").append(name).append("=\"");
  append_number(out, value);
  out += '"';
}
}  // namespace

void append_xml(std::string& out, std::string_view text) {
  // U+FFFE and U+FFFF are characters of UTF-8 and none of XML 1.0 (its production 2, Char).
  constexpr std::string_view kNone = "\xEF\xBF";
  for (std::size_t at = 0; at < text.size(); ++at) {
    const char c = text[at];
    const std::string_view rest = text.substr(at);
    if (rest.starts_with(kNone) && rest.size() > 2 && (rest[2] == '\xBE' || rest[2] == '\xBF')) {
      out += "\xEF\xBF\xBD";
      at += 2;
    } else if (c == '&') {
      out += "&amp;";
    } else if (c == '<') {
      out += "&lt;";
    } else if (c == '>') {
      out += "&gt;";
    } else if (c == '"') {
      out += "&quot;";
    } else {
      out += c;
    }
  }
}

void JunitWriter::begin(const Run& /*run*/) {
  output_.text() += "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites name=\"meniscus\">\n";
}

void JunitWriter::begin_input(std::string_view name) {
  end_suite();
  suite_ = {};
  suite_.name = settled_name(name);
  open_ = true;
}

void JunitWriter::begin_case(std::string_view name) {
  ++suite_.tests;
  suite_.cases += "  <testcase";
  append_attribute(suite_.cases, "name", name);
  append_attribute(suite_.cases, "classname", suite_.name);
  suite_.cases += " time=\"0\"";
}

void JunitWriter::write(const Verdict& verdict, const engine::OrderBlock& block,
                        const engine::OrderSource& source) {
  const std::vector<DataItem> items = items_of(verdict, block, source, suite_.name);
  const engine::Place record = source.record_place(block, verdict.lane);
  begin_case(verdict.order.empty() ? "line " + std::to_string(record.line)
                                   : "order " + std::string(verdict.order));
  if (is_error(verdict)) {
    ++suite_.errors;
    append_problem("error", verdict, items);
  } else if (is_found(verdict, fail_at_)) {
    ++suite_.failures;
    append_problem("failure", verdict, items);
  } else if (verdict.outcome == Outcome::Outside || verdict.outcome == Outcome::Recorded) {
    ++suite_.skipped;
    suite_.cases += ">\n   <skipped";
    append_attribute(suite_.cases, "message",
                     std::string(engine::name(verdict.outcome)) + ": " + verdict.reason);
    suite_.cases += "/>\n  </testcase>\n";
  } else if (const std::string lines = lines_of(items); !lines.empty()) {
    suite_.cases += ">\n   <system-out>";
    append_xml(suite_.cases, lines);
    suite_.cases += "</system-out>\n  </testcase>\n";
  } else {
    suite_.cases += "/>\n";
  }
}

/// A failure or an error: the gravest message, and every item as a line.
void JunitWriter::append_problem(std::string_view element, const Verdict& verdict,
                                 const std::vector<DataItem>& items) {
  std::string& out = suite_.cases;
  out.append(">\n   <").append(element);
  append_attribute(out, "type", items.empty() ? engine::name(verdict.outcome) : items[0].grade);
  if (!items.empty()) append_attribute(out, "message", items[0].message);
  out += '>';
  append_xml(out, lines_of(items));
  out.append("</").append(element).append(">\n  </testcase>\n");
}

std::string JunitWriter::lines_of(const std::vector<DataItem>& items) const {
  std::string lines;
  for (const DataItem& item : items) {
    if (item.suppressed.empty()) append_item_line(lines, suite_.name, item);
  }
  return lines;
}

void JunitWriter::never_assessed(const std::vector<engine::NotAssessed>& missing) {
  for (const engine::NotAssessed& entry : missing) {
    append_plain(suite_.said, "in no order of this input: " + never_carried_sentence(entry));
    suite_.said += '\n';
  }
}

void JunitWriter::not_opened(std::string_view sentence) {
  begin_input("inputs that could not be opened");
  begin_case(sentence);
  ++suite_.errors;
  suite_.cases += ">\n   <error type=\"unreadable\"";
  append_attribute(suite_.cases, "message", sentence);
  suite_.cases += "/>\n  </testcase>\n";
}

void JunitWriter::end_suite() {
  if (!open_) return;
  open_ = false;
  std::string& out = output_.text();
  out += " <testsuite";
  append_attribute(out, "name", suite_.name);
  append_attribute(out, "tests", suite_.tests);
  append_attribute(out, "failures", suite_.failures);
  append_attribute(out, "errors", suite_.errors);
  append_attribute(out, "skipped", suite_.skipped);
  out += " time=\"0\">\n" + suite_.cases;
  if (!suite_.said.empty()) {
    out += "  <system-out>";
    append_xml(out, suite_.said);
    out += "</system-out>\n";
  }
  out += " </testsuite>\n";
  output_.piece_done();
}

void JunitWriter::end_run(const RunEnd& /*end*/) {
  end_suite();
  output_.text() += "</testsuites>\n";
}

}  // namespace meniscus::adapters
