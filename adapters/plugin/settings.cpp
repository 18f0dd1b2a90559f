// Contract: see settings.hpp and meniscus.h.
#include "adapters/plugin/settings.hpp"

#include <array>
#include <memory>
#include <utility>

#include "adapters/plugin/guard.hpp"
#include "adapters/support/near_name.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {

namespace {

/// Takes a value; gives what to write instead, or nothing.
using Take = std::string_view (*)(Wanted&, std::string_view);

constexpr std::string_view kDay = "a day as 2026-03-02";

template <auto Member>
std::string_view take_path(Wanted& wanted, std::string_view value) {
  wanted.*Member = value;
  return {};
}

template <auto Member>
std::string_view take_yes_no(Wanted& wanted, std::string_view value) {
  if (value.empty()) {
    wanted.*Member = Wanted{}.*Member;
    return {};
  }
  if (value != "yes" && value != "no") return "yes or no";
  wanted.*Member = value == "yes";
  return {};
}

template <auto Member>
std::string_view take_day(Wanted& wanted, std::string_view value) {
  if (value.empty()) {
    wanted.*Member = std::nullopt;
    return {};
  }
  const auto date = engine::parse_date(value);
  if (!date || date->precision < engine::Precision::Day) return kDay;
  wanted.*Member = date->day();
  return {};
}

std::string_view take_rules(Wanted& wanted, std::string_view value) {
  if (value.empty()) {
    wanted.rules.clear();
  } else {
    wanted.rules.emplace_back(value);
  }
  return {};
}

std::string_view take_history(Wanted& wanted, std::string_view value) {
  constexpr std::string_view kSqlite = "sqlite:";
  wanted.store.clear();
  if (value.empty() || value == "memory") {
    wanted.history = HistoryFrom::Memory;
  } else if (value == "input") {
    wanted.history = HistoryFrom::Input;
  } else if (value.starts_with(kSqlite) && value.size() > kSqlite.size()) {
    wanted.history = HistoryFrom::Store;
    wanted.store = value;
  } else {
    return "memory, input or sqlite:PATH";
  }
  return {};
}

std::string_view take_on_hold(Wanted& wanted, std::string_view value) {
  if (value.empty()) {
    wanted.on_hold.reset();
  } else if (value == "ua") {
    wanted.on_hold = hl7v2::OnHold::Ua;
  } else if (value == "ae") {
    wanted.on_hold = hl7v2::OnHold::Ae;
  } else {
    return "ua or ae";
  }
  return {};
}

std::string_view take_fail_at(Wanted& wanted, std::string_view value) {
  using engine::Outcome;
  if (value.empty()) value = name(Wanted{}.fail_at);
  for (const Outcome outcome :
       {Outcome::Note, Outcome::Caution, Outcome::Incomplete, Outcome::Clarify, Outcome::Hold}) {
    if (value != name(outcome)) continue;
    wanted.fail_at = outcome;
    return {};
  }
  return "note, caution, incomplete, clarify or hold";
}

struct Setting {
  std::string_view name;
  Take take;
};

constexpr std::array kSettings = {
    Setting{"rules", take_rules},
    Setting{"only-rules", take_yes_no<&Wanted::only_rules>},
    Setting{"shipped-rules", take_path<&Wanted::shipped_rules>},
    Setting{"rules-as-of", take_day<&Wanted::rules_as_of>},
    Setting{"allow-mute-hold", take_yes_no<&Wanted::allow_mute_hold>},
    Setting{"profile", take_path<&Wanted::profile>},
    Setting{"answers", take_path<&Wanted::answers>},
    Setting{"as-of", take_day<&Wanted::as_of>},
    Setting{"slips", take_yes_no<&Wanted::slips>},
    Setting{"history", take_history},
    Setting{"history-since", take_day<&Wanted::history_since>},
    Setting{"on-hold", take_on_hold},
    Setting{"fail-at", take_fail_at},
};

std::string in_ticks(std::string_view text) {
  std::string ticked = "`";
  ticked.append(text).append("`");
  return ticked;
}

}  // namespace

std::string set(Wanted& wanted, std::string_view name, std::string_view value) {
  NearName near(name);
  for (const Setting& setting : kSettings) {
    near.offer(setting.name);
    if (setting.name != name) continue;
    const std::string_view needed = setting.take(wanted, value);
    if (needed.empty()) return {};
    std::string wrong = in_ticks(name) + " cannot be " + in_ticks(value) + "; write ";
    return wrong.append(needed);
  }
  std::string wrong = "there is no setting " + in_ticks(name);
  if (!near.best().empty()) wrong += "; is " + in_ticks(near.best()) + " meant?";
  return wrong;
}

}  // namespace meniscus::adapters

using meniscus::adapters::Complaint;
using meniscus::adapters::guarded;

MeniscusStatus meniscus_settings_new(MeniscusSettings** settings) noexcept {
  if (settings == nullptr) return MENISCUS_NULL_ARGUMENT;
  *settings = nullptr;
  Complaint unsaid;  // there are no settings yet to say it with
  return guarded(unsaid, [&] {
    *settings = std::make_unique<MeniscusSettings>().release();
    return MENISCUS_OK;
  });
}

void meniscus_settings_free(MeniscusSettings* settings) noexcept {
  const std::unique_ptr<MeniscusSettings> given_back(settings);
}

MeniscusStatus meniscus_settings_set(MeniscusSettings* settings, const char* name,
                                     const char* value) noexcept {
  if (settings == nullptr || name == nullptr || value == nullptr) return MENISCUS_NULL_ARGUMENT;
  return guarded(settings->complaint, [&] {
    const std::string wrong = set(settings->wanted, name, value);
    if (wrong.empty()) return MENISCUS_OK;
    return settings->complaint.fail(MENISCUS_WRONG_SETTING, "setting", wrong);
  });
}

MeniscusStatus meniscus_settings_set_history(MeniscusSettings* settings,
                                             MeniscusHistoryCallback callback,
                                             void* user_data) noexcept {
  if (settings == nullptr) return MENISCUS_NULL_ARGUMENT;
  settings->complaint.clear();
  settings->wanted.callback = callback;
  settings->wanted.user_data = user_data;
  return MENISCUS_OK;
}

const char* meniscus_settings_error(const MeniscusSettings* settings) noexcept {
  return settings == nullptr ? "" : settings->complaint.text();
}

const char* meniscus_settings_problems(const MeniscusSettings* settings) noexcept {
  return settings == nullptr ? "[]" : settings->complaint.problems();
}
