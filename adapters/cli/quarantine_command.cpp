// Contract: see quarantine_command.hpp.
#include "adapters/cli/quarantine_command.hpp"

#include <algorithm>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "adapters/cli/check_command.hpp"
#include "adapters/cli/counted.hpp"
#include "adapters/cli/judged_orders.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/quarantine/quarantine.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {

namespace {

/// A quarantine that is there already, and what it holds.
struct Opened {
  std::unique_ptr<Quarantine> folder;
  std::vector<Quarantined> held;
};

/// Null, and said: it cannot be opened.
Opened open_existing(const std::string& path, const Console& console) {
  if (!std::filesystem::is_directory(path)) {
    console.complain("there is no folder " + path);
    return {};
  }
  auto folder = Quarantine::open(path);
  if (!folder) {
    console.complain(folder.error().message);
    return {};
  }
  auto held = (*folder)->list();
  if (held) return {std::move(*folder), std::move(*held)};
  console.complain(held.error().message);
  return {};
}

std::string line_of(const Quarantined& one) {
  const auto day = static_cast<std::int64_t>(one.why.received / 86400.0);
  std::string line = one.name + "  " + engine::format_day(day) + "  " + std::to_string(one.bytes) +
                     " bytes  " + one.why.reason;
  if (!one.why.at.empty()) line += " (" + one.why.at + ")";
  return line + "\n";
}

/// Those that are named, or all.  False, and said: one is not there.
bool choose(const Arguments& arguments, const Console& console, Opened& opened) {
  const std::vector<std::string> names(arguments.files.begin() + 1, arguments.files.end());
  for (const std::string& name : names) {
    const bool there =
        std::ranges::any_of(opened.held, [&](const Quarantined& one) { return one.name == name; });
    if (there) continue;
    console.complain("the quarantine holds no `" + name +
                     "`; `meniscus quarantine list` names what it holds");
    return false;
  }
  if (names.empty()) return true;
  std::erase_if(opened.held, [&](const Quarantined& one) {
    return std::find(names.begin(), names.end(), one.name) == names.end();
  });
  return true;
}

/// Takes those out of `opened.held` that cannot be read by these rules either.
std::vector<Quarantined> take_unreadable(Opened& opened, const JudgeAll& judge) {
  std::vector<Quarantined> unreadable;
  std::erase_if(opened.held, [&](const Quarantined& one) {
    const std::string path = opened.folder->path(one.name);
    const bool bad = judge.run({path}, [](const JudgedOrder&) {}) == ExitStatus::Unread;
    if (bad) unreadable.push_back(one);
    return bad;
  });
  return unreadable;
}

}  // namespace

ExitStatus run_quarantine_list(const Arguments& arguments, const Console& console) {
  const Opened opened = open_existing(arguments.files.front(), console);
  if (opened.folder == nullptr) return ExitStatus::Usage;
  std::string text;
  for (const Quarantined& one : opened.held)
    text += line_of(one);
  console.say(text + counted(opened.held.size(), "message") + " in quarantine\n");
  return ExitStatus::Clean;
}

ExitStatus run_quarantine_retry(const Arguments& arguments, const Console& console,
                                const Log& log) {
  Opened opened = open_existing(arguments.files.front(), console);
  if (opened.folder == nullptr || !choose(arguments, console, opened)) return ExitStatus::Usage;
  const auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  const auto feed = load_feed(arguments.profile, *program, console);
  if (!feed) return ExitStatus::Usage;
  Arguments check = arguments;
  check.from = FromFormat::Hl7;
  Arguments alone = check;  // whether a text can be read asks no history
  alone.history.clear();
  const auto unreadable = take_unreadable(opened, {alone, console, program, *feed});
  ExitStatus status = ExitStatus::Clean;
  check.files.clear();
  for (const Quarantined& one : opened.held)
    check.files.push_back(opened.folder->path(one.name));
  if (!check.files.empty()) status = run_check(check, console, log);
  if (status == ExitStatus::Usage || status == ExitStatus::Internal) return status;
  for (const Quarantined& one : opened.held) {
    const engine::Status gone = opened.folder->discard(one.name);
    if (!gone) console.complain(gone.error().message);
  }
  for (const Quarantined& one : unreadable)
    console.say_err("still not read: " + line_of(one));
  return unreadable.empty() ? status : worst(status, ExitStatus::Unread);
}

ExitStatus run_quarantine_discard(const Arguments& arguments, const Console& console) {
  Opened opened = open_existing(arguments.files.front(), console);
  if (opened.folder == nullptr || !choose(arguments, console, opened)) return ExitStatus::Usage;
  for (const Quarantined& one : opened.held) {
    const engine::Status gone = opened.folder->discard(one.name);
    if (gone) continue;
    console.complain(gone.error().message);
    return ExitStatus::Internal;
  }
  console.say(counted(opened.held.size(), "message") + " discarded\n");
  return ExitStatus::Clean;
}

}  // namespace meniscus::adapters
