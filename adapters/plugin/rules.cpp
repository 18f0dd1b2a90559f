// Loading rules (contract: meniscus.h), and what the library is.
#include <dlfcn.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <optional>
#include <utility>

#include "adapters/plugin/guard.hpp"
#include "adapters/plugin/rules.hpp"
#include "adapters/plugin/settings.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/support/host_time.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {

namespace {

/// Where this library stands.
std::filesystem::path own_path() {
  Dl_info info{};
  // NOLINTNEXTLINE(*-reinterpret-cast): dladdr() takes any address
  if (dladdr(reinterpret_cast<const void*>(&meniscus_version), &info) == 0) return {};
  std::error_code problem;
  std::filesystem::path path = std::filesystem::canonical(info.dli_fname, problem);
  return problem ? std::filesystem::path() : path;
}

/// $MENISCUS_RULES, else share/meniscus/rules beside the library's folder: that may be PREFIX/lib,
/// PREFIX/lib/ARCHITECTURE, or the build tree.
Shipped find_rules() {
  const std::filesystem::path library = own_path();
  const char* const environment = std::getenv("MENISCUS_RULES");
  Shipped found = find_shipped_rules(library, environment);
  if (!found.path.empty()) return found;
  Shipped above = find_shipped_rules(library.parent_path(), nullptr);
  found.path = std::move(above.path);
  for (std::string& place : above.looked_in) {
    if (std::ranges::find(found.looked_in, place) == found.looked_in.end())
      found.looked_in.push_back(std::move(place));
  }
  return found;
}

/// Their path; empty where they are left out.  None, and said, when they are not there.
std::optional<std::string> shipped_rules(const Wanted& wanted, Complaint& complaint) {
  if (wanted.only_rules) return std::string();
  if (!wanted.shipped_rules.empty()) return wanted.shipped_rules;
  Shipped shipped = find_rules();
  if (!shipped.path.empty()) return std::move(shipped.path);
  std::string sentence =
      "the shipped rules are not there; set `shipped-rules` to their folder, or "
      "`only-rules` to yes (looked in";
  for (const std::string& place : shipped.looked_in)
    sentence += " " + place;
  complaint.fail(MENISCUS_WRONG_RULES, "input", sentence + ")");
  return std::nullopt;
}

MeniscusStatus load(const Wanted& wanted, Complaint& complaint, MeniscusRules& into) {
  std::optional<std::string> shipped = shipped_rules(wanted, complaint);
  if (!shipped) return MENISCUS_WRONG_RULES;
  std::vector<std::string> paths = wanted.rules;
  if (!shipped->empty()) paths.push_back(*shipped);
  LoadOptions options;
  options.shipped = std::move(*shipped);
  options.rules_day = wanted.rules_as_of.value_or(wanted.as_of.value_or(local_day()));
  options.allow_mute_hold = wanted.allow_mute_hold;
  options.examples = false;
  LoadedRules loaded = load_rules(paths, re2_patterns(), options);
  if (const std::string damage = damage_sentence(loaded.compiled); !damage.empty())
    complaint.add({"input", engine::Severity::Warning, nullptr, {}, damage, {}, {}});
  for (const engine::Diagnostic& diagnostic : loaded.diagnostics)
    complaint.add(diagnostic);
  for (const std::string& sentence : loaded.unreadable)
    complaint.fail(MENISCUS_WRONG_RULES, "input", sentence);
  if (loaded.program == nullptr) return complaint.fail(MENISCUS_WRONG_RULES);
  into.program = std::move(loaded.program);
  into.day = engine::format_day(options.rules_day);
  return MENISCUS_OK;
}

}  // namespace

}  // namespace meniscus::adapters

MeniscusStatus meniscus_rules_load(MeniscusSettings* settings, MeniscusRules** rules) noexcept {
  if (rules != nullptr) *rules = nullptr;
  if (settings == nullptr || rules == nullptr) return MENISCUS_NULL_ARGUMENT;
  return meniscus::adapters::guarded(settings->complaint, [&] {
    auto made = std::make_unique<MeniscusRules>();
    const MeniscusStatus status =
        meniscus::adapters::load(settings->wanted, settings->complaint, *made);
    if (status == MENISCUS_OK) *rules = made.release();
    return status;
  });
}

void meniscus_rules_free(MeniscusRules* rules) noexcept {
  const std::unique_ptr<MeniscusRules> given_back(rules);
}

const char* meniscus_rules_hash(const MeniscusRules* rules) noexcept {
  return rules == nullptr ? "" : rules->program->hash.c_str();
}

const char* meniscus_rules_day(const MeniscusRules* rules) noexcept {
  return rules == nullptr ? "" : rules->day.c_str();
}

size_t meniscus_rules_count(const MeniscusRules* rules) noexcept {
  return rules == nullptr ? 0 : rules->program->rules.size();
}

const char* meniscus_version() noexcept { return MENISCUS_VERSION; }

int meniscus_api_version() noexcept { return MENISCUS_API_VERSION; }

const char* meniscus_status_text(int status) noexcept {
  return meniscus::adapters::text_of_status(status);
}
