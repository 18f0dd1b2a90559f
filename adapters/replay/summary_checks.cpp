// Contract: see summary_checks.hpp.
#include "adapters/replay/summary_checks.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <nlohmann/json.hpp>
#include <string_view>
#include <utility>
#include <vector>

#include "adapters/replay/signals.hpp"
#include "adapters/report/finding_key.hpp"
#include "adapters/report/junit_writer.hpp"
#include "adapters/report/output.hpp"
#include "adapters/report/sarif_writer.hpp"

namespace meniscus::adapters::replay {

namespace {
using Json = nlohmann::ordered_json;

/// What is said of one rule.
struct RuleChecks {
  const RuleInfo* info = nullptr;  // of the last side that has it
  std::vector<std::string> signals;
  const RuleShift* shift = nullptr;  // only where before and after differ
  std::string differs;
};

/// With the name of its kind, by which a reader can look for it.
std::string sentence(const Signal& signal) {
  const std::string_view kind = name(signal.kind);
  return signal.say.starts_with(kind) ? signal.say : std::string(kind) + ": " + signal.say;
}

std::string difference(const RuleShift& shift) {
  const std::array<std::pair<std::string_view, Count>, 4> counts = {{{"newly", shift.newly},
                                                                     {"gone", shift.gone},
                                                                     {"graver", shift.graver},
                                                                     {"milder", shift.milder}}};
  std::string said;
  for (const auto& [word, count] : counts) {
    if (count == 0) continue;
    said += said.empty() ? "before and after differ: " : ", ";
    said += std::string(word) + " on " + std::to_string(count);
  }
  if (said.empty()) return said;
  const Count all = shift.newly + shift.gone + shift.graver + shift.milder + shift.same;
  return said + ", the same on " + std::to_string(shift.same) + " of " + std::to_string(all) +
         (all == 1 ? " order" : " orders") + " that it fired on";
}

/// What could not be read: a place or a number, and why.
std::vector<std::pair<std::string, std::string>> unread_records(const Summary& summary) {
  const InputTally& input = summary.tally.input;
  std::vector<std::pair<std::string, std::string>> all;
  for (const Unread& record : input.unread) {
    all.emplace_back(
        settled_name(summary.head.files[record.file]) + ":" + std::to_string(record.line),
        record.why);
  }
  if (input.unreadable > input.unread.size()) {
    all.emplace_back(std::to_string(input.unreadable - input.unread.size()) + " more records",
                     "cannot be read");
  }
  return all;
}

/// By rule, as in `all_rules`.
std::vector<RuleChecks> checks_of(const Summary& summary) {
  const SummaryHead& head = summary.head;
  std::vector<RuleChecks> all(head.all_rules.size());
  const auto number_of = [&head](const std::string& rule) {
    return static_cast<std::size_t>(std::ranges::find(head.all_rules, rule) -
                                    head.all_rules.begin());
  };
  for (const SideInfo& side : head.sides) {
    for (const RuleInfo& info : side.rules) {
      if (const std::size_t at = number_of(info.name); at < all.size()) all[at].info = &info;
    }
  }
  const SideInfo& last = head.sides.back();
  for (const Signal& signal :
       signals_of(summary.tally.sides.back(), last.rules.size() - kBuiltInRules,
                  summary.tally.months, summary.tally.input.judged, head.often)) {
    const std::size_t at = number_of(last.rules[signal.rule].name);
    if (at < all.size()) all[at].signals.push_back(sentence(signal));
  }
  if (!summary.tally.comparison) return all;
  const std::vector<RuleShift>& shifts = summary.tally.comparison->rules;
  for (std::size_t i = 0; i < std::min(all.size(), shifts.size()); ++i) {
    all[i].differs = difference(shifts[i]);
    if (!all[i].differs.empty()) all[i].shift = &shifts[i];
  }
  return all;
}

Json location(const Example& example) {
  Json place{{"artifactLocation", {{"uri", uri_of(settled_name(example.file))}}}};
  if (example.line > 0) place["region"] = {{"startLine", example.line}};
  return {{"physicalLocation", std::move(place)}};
}

/// One place a result (section 3.27.12); the other examples are related to it.
void add_locations(Json& result, const Examples& examples) {
  for (const Example& example : examples.orders()) {
    if (example.file.empty()) continue;
    result[result.contains("locations") ? "relatedLocations" : "locations"].push_back(
        location(example));
  }
}

class SarifRun {
 public:
  explicit SarifRun(const Summary& summary) : summary_(summary), checks_(checks_of(summary)) {}

  Json write() {
    Json rules = Json::array();
    for (std::size_t i = 0; i < checks_.size(); ++i) {
      rules.push_back(descriptor(i));
      add_results(i);
    }
    Json driver{{"name", "meniscus"},
                {"semanticVersion", MENISCUS_VERSION},
                {"properties", {{"rules", hashes()}}},
                {"rules", std::move(rules)}};
    return {{"columnKind", "unicodeCodePoints"},
            {"results", std::move(results_)},
            {"tool", {{"driver", std::move(driver)}}},
            {"invocations", Json::array({invocation()})}};
  }

 private:
  [[nodiscard]] Json descriptor(std::size_t rule) const {
    Json out{{"id", summary_.head.all_rules[rule]}};
    const RuleInfo* info = checks_[rule].info;
    if (info == nullptr) return out;
    if (!info->title.empty()) out["shortDescription"] = {{"text", info->title}};
    out["help"] = {
        {"text", info->cite.empty() ? "A rule of the program itself" : "Source: " + info->cite}};
    return out;
  }

  void add_results(std::size_t rule) {
    const RuleChecks& checks = checks_[rule];
    for (const std::string& signal : checks.signals)
      results_.push_back(result(rule, "warning", signal));
    if (checks.shift == nullptr) return;
    Json differs = result(rule, "note", checks.differs);
    add_locations(differs, checks.shift->examples);
    const RuleShift& shift = *checks.shift;
    differs["properties"] = {{"newly", shift.newly},
                             {"gone", shift.gone},
                             {"graver", shift.graver},
                             {"milder", shift.milder},
                             {"same", shift.same}};
    results_.push_back(std::move(differs));
  }

  [[nodiscard]] Json result(std::size_t rule, std::string_view level,
                            const std::string& message) const {
    return {{"ruleId", summary_.head.all_rules[rule]},
            {"ruleIndex", rule},
            {"kind", "fail"},
            {"level", level},
            {"message", {{"text", message}}}};
  }

  [[nodiscard]] Json hashes() const {
    Json out = Json::object();
    for (const SideInfo& side : summary_.head.sides)
      out[side.name] = side.hash;
    return out;
  }

  [[nodiscard]] Json invocation() const {
    Json notifications = Json::array();
    const auto notify = [&notifications](std::string_view id, const std::string& sentence) {
      notifications.push_back(
          {{"descriptor", {{"id", id}}}, {"level", "error"}, {"message", {{"text", sentence}}}});
    };
    for (const std::string& sentence : summary_.head.unopened)
      notify("input-not-opened", sentence);
    for (auto& [what, why] : unread_records(summary_))
      notify("record-not-read", what.append(": ").append(why));
    return {{"executionSuccessful", summary_.head.unopened.empty()},
            {"toolExecutionNotifications", std::move(notifications)}};
  }

  const Summary& summary_;
  std::vector<RuleChecks> checks_;
  Json results_ = Json::array();
};

/// One line of plain text, for an attribute or an element.
std::string xml_line(std::string_view text) {
  std::string plain;
  append_plain(plain, text);
  std::string out;
  append_xml(out, plain);
  return out;
}

std::string attribute(std::string_view name, std::string_view value) {
  return " " + std::string(name) + "=\"" + xml_line(value) + "\"";
}

std::string attribute(std::string_view name, std::size_t value) {
  return attribute(name, std::to_string(value));
}

std::string failure_of(const RuleChecks& checks) {
  std::vector<std::string> lines = checks.signals;
  if (checks.shift != nullptr) {
    lines.insert(lines.begin(), checks.differs);
    for (const Example& example : checks.shift->examples.orders())
      lines.push_back(settled_name(example.file) + ":" + std::to_string(example.line));
  }
  if (lines.empty()) return {};
  std::string out = "   <failure" +
                    attribute("type", checks.shift != nullptr ? "difference" : "signal") +
                    attribute("message", lines.front()) + ">";
  for (const std::string& line : lines)
    out += xml_line(line) + "\n";
  return out + "</failure>\n";
}

struct Suite {
  std::string name;
  std::string cases;
  std::size_t tests = 0, failures = 0, errors = 0;

  void add(std::string_view test, const std::string& problem) {
    ++tests;
    cases += "  <testcase" + attribute("name", test) + attribute("classname", name) + " time=\"0\"";
    cases += problem.empty() ? "/>\n" : ">\n" + problem + "  </testcase>\n";
  }

  void add_error(std::string_view test, std::string_view why) {
    ++errors;
    add(test, "   <error type=\"unreadable\"" + attribute("message", why) + "/>\n");
  }

  [[nodiscard]] std::string text() const {
    return " <testsuite" + attribute("name", name) + attribute("tests", tests) +
           attribute("failures", failures) + attribute("errors", errors) +
           attribute("skipped", std::size_t{0}) + " time=\"0\">\n" + cases + " </testsuite>\n";
  }
};
}  // namespace

std::string summary_sarif(const Summary& summary) {
  const Json log{{"$schema",
                  "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/"
                  "sarif-schema-2.1.0.json"},
                 {"version", "2.1.0"},
                 {"runs", Json::array({SarifRun(summary).write()})}};
  return log.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::string summary_junit(const Summary& summary) {
  Suite rules{"replay", {}};
  const std::vector<RuleChecks> checks = checks_of(summary);
  for (std::size_t i = 0; i < checks.size(); ++i) {
    const std::string failure = failure_of(checks[i]);
    if (!failure.empty()) ++rules.failures;
    rules.add(summary.head.all_rules[i], failure);
  }
  std::string out = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites name=\"meniscus\">\n";
  out += rules.text();
  Suite unopened{"inputs that could not be opened", {}};
  for (const std::string& sentence : summary.head.unopened)
    unopened.add_error(sentence, sentence);
  Suite unread{"records that could not be read", {}};
  for (const auto& [what, why] : unread_records(summary))
    unread.add_error(what, why);
  for (const Suite* suite : {&unopened, &unread}) {
    if (suite->tests > 0) out += suite->text();
  }
  return out + "</testsuites>\n";
}

}  // namespace meniscus::adapters::replay
