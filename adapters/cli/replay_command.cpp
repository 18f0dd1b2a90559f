// Contract: see replay_command.hpp.
#include "adapters/cli/replay_command.hpp"

#include <algorithm>
#include <fstream>
#include <optional>
#include <sstream>
#include <thread>
#include <utility>

#include "adapters/cli/help.hpp"
#include "adapters/cli/inputs.hpp"
#include "adapters/cli/interrupt.hpp"
#include "adapters/cli/kept_answers.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/replay_output.hpp"
#include "adapters/cli/replay_progress.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/input/input_files.hpp"
#include "adapters/replay/labels.hpp"
#include "adapters/replay/replay.hpp"
#include "adapters/replay/summary.hpp"
#include "adapters/replay/work_folder.hpp"
#include "engine/history/history.hpp"

namespace meniscus::adapters {

namespace {
using replay::Plan;
using replay::Reading;
using replay::ReplayResult;
using replay::Summary;

constexpr double kDay = 86400.0;

/// The sets of rules; none, after their mistakes were said.
std::vector<replay::PlanSide> load_sides(const Arguments& arguments, const Console& console) {
  std::vector<replay::PlanSide> sides;
  auto program = load_rule_set(arguments, console);
  if (program == nullptr) return {};
  sides.push_back({std::move(program), {}});
  if (arguments.replay.against.empty()) return sides;
  Arguments after = arguments;
  after.rules = arguments.replay.against;
  program = load_rule_set(after, console);
  if (program == nullptr) return {};
  sides.push_back({std::move(program), {}});
  return sides;
}

/// Files and folders as files; complains and gives none where one cannot be.
std::optional<std::vector<std::string>> files_of(const std::vector<std::string>& names,
                                                 const Console& console) {
  auto files = input_files(names);
  if (files) return std::move(*files);
  console.complain(files.error().message);
  return std::nullopt;
}

/// Empty where there is no such file: whoever reads it has said so.
std::string file_text(const std::string& path) {
  std::ostringstream text;
  if (!path.empty()) text << std::ifstream(path, std::ios::binary).rdbuf();
  return text.str();
}

/// Everything that a run holds on to.
struct Prepared {
  Plan plan;
  engine::Feed feed;
  Reading reading;
  replay::ReplayOptions options;
};

unsigned threads_of(const Arguments& arguments) {
  if (arguments.replay.threads > 0) return static_cast<unsigned>(arguments.replay.threads);
  return std::max(1U, std::thread::hardware_concurrency());
}

/// Null, after what is wrong was said.
std::unique_ptr<Prepared> prepare(const Arguments& arguments, const Console& console) {
  auto prepared = std::make_unique<Prepared>();
  Plan& plan = prepared->plan;
  plan.sides = load_sides(arguments, console);
  if (plan.sides.empty()) return nullptr;
  const engine::Program& first = *plan.sides.front().program;
  auto feed = load_feed(arguments.profile, first, console);
  auto answers = load_answers(arguments.answers, first, console);
  auto warm_up = files_of(arguments.replay.warm_up, console);
  auto inputs = files_of(arguments.files, console);
  if (!feed || !answers || !warm_up || !inputs) return nullptr;
  prepared->feed = std::move(*feed);
  plan.answers = std::move(answers->answers);
  plan.answers_text = file_text(arguments.answers);
  prepared->reading.profile = file_text(arguments.profile);
  plan.fail_at = arguments.fail_at;
  plan.as_of = arguments.as_of;
  plan.today = console.today;
  plan.history_since = arguments.history_since;
  plan.seed = arguments.replay.seed;
  plan.examples = arguments.replay.examples;
  plan.sample = arguments.replay.sample;
  plan.files = *warm_up;
  plan.files.insert(plan.files.end(), inputs->begin(), inputs->end());
  replay::finish_plan(plan);
  Reading& reading = prepared->reading;
  reading.warm_up = std::move(*warm_up);
  reading.inputs = std::move(*inputs);
  reading.format = format_of(arguments.from);
  reading.feed = &prepared->feed;
  reading.shard = {static_cast<std::uint32_t>(arguments.replay.shard),
                   static_cast<std::uint32_t>(arguments.replay.shards)};
  replay::ReplayOptions& options = prepared->options;
  options.threads = threads_of(arguments);
  // What can be read once only must not turn out to want sorting.
  const bool once = std::ranges::count(plan.files, "-") > 0;
  options.folder = arguments.replay.work;
  options.sort = arguments.replay.sort || once || !options.folder.empty();
  options.say = [&console](const std::string& sentence) { console.complain(sentence); };
  return prepared;
}

Summary summary_of(const Prepared& prepared, ReplayResult result, const Arguments& arguments) {
  Summary summary;
  summary.head.made_by = version_line();
  summary.head.made_by.pop_back();  // its line end
  summary.head.fail_at = prepared.plan.fail_at;
  summary.head.seed = prepared.plan.seed;
  summary.head.often = arguments.replay.often;
  summary.head.files = prepared.plan.files;
  summary.head.unopened = std::move(result.unopened);
  summary.head.all_rules = prepared.plan.all_rules;
  if (result.since > engine::History::kAlways)
    summary.head.since = static_cast<std::int64_t>(result.since / kDay);
  const bool two = prepared.plan.sides.size() > 1;
  for (std::size_t i = 0; i < prepared.plan.sides.size(); ++i) {
    const std::string name = !two ? "rules" : i == 0 ? "before" : "after";
    summary.head.sides.push_back(replay::side_info(name, *prepared.plan.sides[i].program));
  }
  summary.shard = prepared.reading.shard;
  summary.tally = std::move(result.tally);
  return summary;
}

/// What a script learns: an input that could not be read, or that the two sets differ.
ExitStatus status_of(const Summary& summary) {
  ExitStatus status = ExitStatus::Clean;
  const replay::Tally& tally = summary.tally;
  if (tally.comparison) {
    const auto& shifts = tally.comparison->shifts;
    const bool same = std::all_of(shifts.begin() + 1, shifts.end(),
                                  [](replay::Count orders) { return orders == 0; });
    if (!same || tally.comparison->outside_of_one > 0) status = ExitStatus::Found;
  }
  if (!summary.head.unopened.empty() || tally.input.unreadable > 0)
    status = worst(status, ExitStatus::Unread);
  return status;
}

void say_unread(const Summary& summary, const Console& console) {
  const replay::InputTally& input = summary.tally.input;
  for (const replay::Unread& record : input.unread)
    console.complain(summary.head.files[record.file] + ":" + std::to_string(record.line) + ": " +
                     record.why);
  if (input.unreadable > input.unread.size())
    console.complain("and " + std::to_string(input.unreadable - input.unread.size()) +
                     " more records that cannot be read");
}

/// Before hours of work: what is asked for can be written.
bool can_write_all(const Arguments& arguments, const Console& console) {
  for (const std::string& path :
       {arguments.replay.report, arguments.replay.part, arguments.replay.labels}) {
    if (path.empty()) continue;
    const engine::Status writable = replay::can_write(path);
    if (writable) continue;
    console.complain(writable.error().message);
    return false;
  }
  return true;
}

/// The table for the readers, and beside it what they are not to see.
ExitStatus write_sample(const Summary& summary, const Arguments& arguments,
                        const Console& console) {
  const ReplayArguments& replay = arguments.replay;
  if (replay.labels.empty()) return ExitStatus::Clean;
  engine::Status written =
      replay::write_private_file(replay.labels, replay::sample_csv(summary, replay.show_patients));
  if (written)
    written = replay::write_private_file(replay.labels + ".key", replay::part_json(summary));
  if (written) return ExitStatus::Clean;
  console.complain(written.error().message);
  return ExitStatus::Internal;
}

ExitStatus write_part(const Summary& part, const std::string& path, const Console& console) {
  const engine::Status written = replay::write_private_file(path, replay::part_json(part));
  if (written) return ExitStatus::Clean;
  console.complain(written.error().message);
  return ExitStatus::Internal;
}
}  // namespace

Replayed replay_orders(const Arguments& arguments, const Console& console, const Log& log) {
  if (!can_write_all(arguments, console)) return {std::nullopt, ExitStatus::Usage};
  // A run that goes on is of the day on which it began.
  Console begun = console;
  begun.today = replay::WorkFolder::day_of(arguments.replay.work).value_or(console.today);
  const auto prepared = prepare(arguments, begun);
  if (prepared == nullptr) return {std::nullopt, ExitStatus::Usage};
  for (const replay::PlanSide& side : prepared->plan.sides)
    log.info(std::to_string(side.program->rules.size()) + " rules, " + side.program->hash);
  replay::Replay replay(prepared->plan, prepared->reading, prepared->options);
  engine::Result<ReplayResult> result = [&] {
    const ReplayProgress shown(replay.progress(), prepared->reading, console);
    return replay.run();
  }();
  if (!result) {
    console.complain(result.error().message);
    const bool usage = result.error().code == engine::Errc::Usage;
    return {std::nullopt, usage ? ExitStatus::Usage : ExitStatus::Internal};
  }
  if (result->stopped) {
    const std::string& folder = arguments.replay.work;
    console.complain(folder.empty() ? "stopped before the end; nothing is said"
                                    : "stopped; the same command goes on from " + folder);
    return {std::nullopt, ExitStatus::Internal};
  }
  for (const std::string& sentence : result->unopened)
    console.complain(sentence);
  return {summary_of(*prepared, std::move(*result), arguments), ExitStatus::Clean};
}

ExitStatus write_replay(const Summary& summary, const Arguments& arguments,
                        const Console& console) {
  say_unread(summary, console);
  const ExitStatus written = arguments.replay.part.empty()
                                 ? write_summary(summary, arguments, console)
                                 : write_part(summary, arguments.replay.part, console);
  return worst(worst(written, write_sample(summary, arguments, console)), status_of(summary));
}

ExitStatus run_replay(const Arguments& arguments, const Console& console, const Log& log) {
  const Replayed replayed = replay_orders(arguments, console, log);
  return replayed.summary ? write_replay(*replayed.summary, arguments, console) : replayed.failed;
}

namespace {
/// Complains and gives none where it cannot be read.
std::optional<std::string> read_file(const std::string& name, const Console& console) {
  std::ifstream file(name, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  if (file && text) return text.str();
  console.complain("cannot read " + name);
  return std::nullopt;
}

std::optional<Summary> read_part(const std::string& name, const Console& console) {
  const auto text = read_file(name, console);
  if (!text) return std::nullopt;
  auto part = replay::read_part(*text);
  if (part) return std::move(*part);
  console.complain(name + ": " + part.error().message);
  return std::nullopt;
}
}  // namespace

ExitStatus run_replay_merge(const Arguments& arguments, const Console& console) {
  std::vector<Summary> parts;
  for (const std::string& name : arguments.files) {
    auto part = read_part(name, console);
    if (!part) return ExitStatus::Usage;
    parts.push_back(std::move(*part));
  }
  const auto merged = replay::merge_parts(parts);
  if (!merged) {
    console.complain(merged.error().message);
    return ExitStatus::Usage;
  }
  say_unread(*merged, console);
  return worst(write_summary(*merged, arguments, console), status_of(*merged));
}

ExitStatus run_replay_labels(const Arguments& arguments, const Console& console) {
  auto summary = read_part(arguments.files.front(), console);
  if (!summary) return ExitStatus::Usage;
  replay::Labels labels(*summary);
  for (std::size_t i = 1; i < arguments.files.size(); ++i) {
    const auto text = read_file(arguments.files[i], console);
    if (!text) return ExitStatus::Usage;
    const engine::Status added = labels.add(*text);
    if (added) continue;
    console.complain(arguments.files[i] + ": " + added.error().message);
    return ExitStatus::Usage;
  }
  labels.settle(*summary);
  return write_summary(*summary, arguments, console);
}

}  // namespace meniscus::adapters
