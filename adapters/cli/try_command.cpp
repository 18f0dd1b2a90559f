// Contract: see try_command.hpp.
//
// Both rule sets read the orders for themselves, because what a word means is theirs to say; blocks
// are cut alike, so that the two verdicts of an order stand in the same lane.
#include "adapters/cli/try_command.hpp"

#include <filesystem>
#include <map>
#include <set>
#include <string>
#include <system_error>

#include "adapters/cli/inputs.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/report/preview.hpp"

namespace meniscus::adapters {

namespace {
namespace fs = std::filesystem;
using Program = std::shared_ptr<const engine::Program>;

/// One of the two rule sets and what it has seen so far.
struct Side {
  Side(const Program& its_program, const Arguments& arguments, const Console& console)
      : program(its_program),
        feed(load_feed(arguments.profile, *program, console)),
        history(program->look_back, program->history_fields, program->history_written) {}

  engine::Result<OpenedOrders> open(const std::string& name, std::uint32_t file, FromFormat from) {
    return open_input(name, from, file, {program.get(), &*feed});
  }

  Program program;
  std::optional<engine::Feed> feed;  // none: its profile has mistakes
  engine::History history;
  engine::OrderBlock block;
};

/// Rules that stand in the files of the command.
std::set<std::string, std::less<>> own_rules(const engine::Program& program,
                                             const Arguments& arguments) {
  const std::set<std::string> files = rule_files_of(arguments.files);
  std::set<std::string, std::less<>> own;
  for (const engine::Rule& rule : program.rules)
    if (files.contains(rule.file)) own.insert(rule.name);
  return own;
}

ExitStatus compare(const std::string& name, std::uint32_t file, Side& without, Side& with,
                   Preview& preview, const Arguments& arguments, const Console& console) {
  auto first = without.open(name, file, arguments.from);
  auto second = with.open(name, file, arguments.from);
  if (!first || !second) {
    console.complain((first ? second : first).error().message);
    return ExitStatus::Unread;
  }
  engine::OrderSource& source = *second->source;
  engine::Checker plain(without.program,
                        check_options(arguments, console, *without.feed, *first->source));
  engine::Checker tried(with.program, check_options(arguments, console, *with.feed, source));
  while (first->source->next(without.block) && source.next(with.block)) {
    plain.check(without.block, without.history,
                [&](const engine::Verdict& verdict) { preview.keep(verdict); });
    tried.check(with.block, with.history, [&](const engine::Verdict& verdict) {
      preview.compare(verdict, [&] { return source.record_place(with.block, verdict.lane); });
    });
  }
  return ExitStatus::Clean;
}

ExitStatus try_once(const Program& shipped, const Arguments& arguments, const Console& console) {
  const Program tried = load_rule_set(arguments, console, {.with_files = true});
  if (tried == nullptr) return ExitStatus::Usage;
  Side without(shipped, arguments, console);
  Side with(tried, arguments, console);
  if (!without.feed || !with.feed) return ExitStatus::Usage;
  Preview preview(own_rules(*tried, arguments));
  ExitStatus status = ExitStatus::Clean;
  for (std::uint32_t file = 0; file < arguments.orders.size(); ++file) {
    status = worst(
        status, compare(arguments.orders[file], file, without, with, preview, arguments, console));
  }
  console.say(preview.text());
  return status;
}

/// When the files were last saved, and the tables beside them.
std::map<std::string, fs::file_time_type> saved(const Arguments& arguments) {
  std::map<std::string, fs::file_time_type> times;
  const auto note = [&times](const fs::path& path) {
    std::error_code error;
    const fs::file_time_type time = fs::last_write_time(path, error);
    if (!error) times[path.string()] = time;
  };
  for (const std::string& file : rule_files_of(arguments.files)) {
    note(file);
    std::error_code error;
    const fs::path folder = fs::path(file).parent_path();
    for (fs::directory_iterator at(folder.empty() ? "." : folder, error), end; !error && at != end;
         at.increment(error))
      if (at->path().extension() == ".csv") note(at->path());
  }
  return times;
}
}  // namespace

ExitStatus run_rules_try(const Arguments& arguments, const Console& console) {
  const Program shipped = load_rule_set(arguments, console, {.with_files = false});
  if (shipped == nullptr) return ExitStatus::Usage;
  auto before = saved(arguments);
  ExitStatus status = try_once(shipped, arguments, console);
  while (arguments.watch && console.pause()) {
    auto now = saved(arguments);
    if (now == before) continue;
    before = std::move(now);
    console.say("\nSaved; tried again:\n");
    status = try_once(shipped, arguments, console);
  }
  return status;
}

}  // namespace meniscus::adapters
