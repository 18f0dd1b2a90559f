// Fuzz target: the plug-in's C interface, with orders in every format and a host that answers with
// anything.
//
// Input:    the first byte is the format, the second where history is from (odd: the host, which
//           gives the part before the first 0x1D), the rest is the buffer.
// Property: nothing crashes or throws; a call gives verdicts or a status, never both; walking them
//           says what the JSON says, an order a line; what is unreadable or internal stops.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>
#include <string_view>

#include "adapters/plugin/meniscus.h"

namespace {

void expect(bool holds) {
  if (!holds) __builtin_trap();
}

void set(MeniscusSettings* settings, const char* name, const char* value) {
  expect(meniscus_settings_set(settings, name, value) == MENISCUS_OK);
}

int give(void* user_data, const char* /*patient*/, std::size_t /*size*/, MeniscusWriter* writer) {
  const std::string_view lines = *static_cast<const std::string_view*>(user_data);
  return meniscus_write(writer, lines.data(), lines.size()) == MENISCUS_OK ? 0 : 1;
}

MeniscusSettings* new_settings() {
  MeniscusSettings* settings = nullptr;
  expect(meniscus_settings_new(&settings) == MENISCUS_OK);
  set(settings, "only-rules", "yes");
  set(settings, "rules", MENISCUS_SOURCE_DIR "/rules");
  set(settings, "rules-as-of", "2026-03-02");
  set(settings, "on-hold", "ua");
  set(settings, "slips", "no");
  return settings;
}

/// Compiled once; the process's for its whole life.
const MeniscusRules* rules() {
  static const MeniscusRules* const kRules = [] {
    MeniscusSettings* settings = new_settings();
    MeniscusRules* made = nullptr;
    expect(meniscus_rules_load(settings, &made) == MENISCUS_OK);
    meniscus_settings_free(settings);
    return made;
  }();
  return kRules;
}

std::size_t walk_finding(const MeniscusFinding* finding) {
  std::size_t size = 0;
  std::size_t seen = std::strlen(meniscus_finding_say(finding, &size));
  expect(seen <= size);
  seen += std::strlen(meniscus_finding_ask(finding, nullptr));
  seen += std::strlen(meniscus_finding_cite(finding, nullptr));
  expect(*meniscus_grade_name(meniscus_finding_grade(finding)) != '\0');
  expect(meniscus_finding_field_count(finding) > 0);
  for (std::size_t i = 0; i < meniscus_finding_field_count(finding); ++i) {
    const MeniscusField* field = meniscus_finding_field(finding, i);
    seen += std::strlen(meniscus_field_name(field, nullptr));
    seen += std::strlen(meniscus_field_value(field, nullptr));
    seen += std::strlen(meniscus_field_place(field, nullptr));
    seen += meniscus_field_line(field) + meniscus_field_column(field);
  }
  return seen;
}

void walk(const MeniscusVerdict* verdict, std::string_view line) {
  const MeniscusOutcome outcome = meniscus_verdict_outcome(verdict);
  const std::string said = std::string("\"outcome\":\"") + meniscus_outcome_name(outcome) + '"';
  expect(line.find(said) != std::string_view::npos);
  for (std::size_t i = 0; i < meniscus_verdict_finding_count(verdict); ++i) {
    const MeniscusFinding* finding = meniscus_verdict_finding(verdict, i);
    walk_finding(finding);
    const std::string_view rule = meniscus_finding_rule(finding, nullptr);
    if (rule == "unreadable" || rule == "internal")
      expect(outcome == MENISCUS_OUTCOME_HOLD && meniscus_verdict_stops(verdict) != 0);
  }
  for (std::size_t i = 0; i < meniscus_verdict_missing_count(verdict); ++i) {
    const MeniscusMissing* missing = meniscus_verdict_missing(verdict, i);
    expect(*meniscus_missing_what(missing, nullptr) != '\0');
    expect(meniscus_missing_rule(missing, meniscus_missing_rule_count(missing)) == nullptr);
  }
}

void walk(const MeniscusVerdicts* verdicts) {
  std::size_t size = 0;
  const char* text = meniscus_verdicts_jsonl(verdicts, &size);
  std::string_view left(text, size);
  for (std::size_t i = 0; i < meniscus_verdicts_count(verdicts); ++i) {
    const std::size_t end = left.find('\n');
    expect(end != std::string_view::npos);
    walk(meniscus_verdicts_at(verdicts, i), left.substr(0, end));
    left.remove_prefix(end + 1);
  }
  expect(left.empty());
  const char* answers = meniscus_verdicts_hl7(verdicts, &size);
  expect(answers != nullptr || size == 0);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size < 2) return 0;
  // NOLINTNEXTLINE(*-reinterpret-cast): bytes as text
  std::string_view bytes(reinterpret_cast<const char*>(data) + 2, size - 2);
  std::string_view former;
  MeniscusSettings* settings = new_settings();
  if (data[1] % 2 == 1) {
    const std::size_t cut = std::min(bytes.find('\x1D'), bytes.size());
    former = bytes.substr(0, cut);
    bytes.remove_prefix(std::min(cut + 1, bytes.size()));
    expect(meniscus_settings_set_history(settings, give, &former) == MENISCUS_OK);
  } else if (data[1] % 4 == 2) {
    set(settings, "history", "input");
  }
  MeniscusChecker* checker = nullptr;
  expect(meniscus_checker_new(rules(), settings, &checker) == MENISCUS_OK);
  meniscus_settings_free(settings);
  for (int call = 0; call < 2; ++call) {
    MeniscusVerdicts* verdicts = nullptr;
    const MeniscusStatus status =
        meniscus_check(checker, data[0] % 5, bytes.data(), bytes.size(), &verdicts);
    expect((status == MENISCUS_OK) == (verdicts != nullptr));
    expect(status == MENISCUS_OK || status == MENISCUS_UNKNOWN_FORMAT);
    if (verdicts != nullptr) walk(verdicts);
    meniscus_verdicts_free(verdicts);
  }
  meniscus_checker_free(checker);
  return 0;
}
