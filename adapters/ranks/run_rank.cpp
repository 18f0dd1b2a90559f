// Contract: see run_rank.hpp.
#include "adapters/ranks/run_rank.hpp"

#include <algorithm>
#include <exception>
#include <optional>
#include <set>
#include <string_view>
#include <utility>

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/configured.hpp"
#include "adapters/cli/help.hpp"
#include "adapters/cli/log.hpp"
#include "adapters/cli/replay_command.hpp"
#include "adapters/replay/summary.hpp"

namespace meniscus::adapters {

namespace {
constexpr std::string_view kHelp =
    "Judges past orders with the processes that mpirun starts, each its share of the patients.\n"
    "\n"
    "usage: mpirun -n N meniscus-ranks FILE... [OPTION...]\n"
    "\n"
    "Takes the files and options of `meniscus replay` and writes what that writes; see\n"
    "`meniscus replay --help`.  Every process reads all files, so all must see them under the "
    "same\n"
    "names.  Without --threads the processes of a machine share its processors.  Not for\n"
    "standard input, --shard and --part.\n";

/// What this rank says on stderr, kept; the first rank says it at once too.
class Said {
 public:
  explicit Said(const Console& console, bool at_once) : console_(console), at_once_(at_once) {}

  Console console() {
    Console kept = console_;
    kept.err = [this](std::string_view text) {
      text_ += text;
      return at_once_ ? console_.err(text) : engine::Status(engine::Done{});
    };
    // Nobody could tell the progress of one rank from that of another.
    kept.err_is_terminal = false;
    return kept;
  }
  [[nodiscard]] const std::string& text() const { return text_; }

  /// Says what the other ranks have said and nobody before them.
  void say_of_others(const std::vector<std::string>& texts) const {
    std::set<std::string_view> known;
    for (std::size_t i = 0; i < texts.size(); ++i) {
      std::string_view rest = texts[i];
      while (!rest.empty()) {
        const std::string_view line =
            rest.substr(0, std::min(rest.find('\n'), rest.size() - 1) + 1);
        rest.remove_prefix(line.size());
        if (known.insert(line).second && i > 0) console_.say_err(line);
      }
    }
  }

 private:
  const Console& console_;
  bool at_once_;
  std::string text_;
};

bool is_option(std::string_view word, std::string_view option) {
  return word == option ||
         (word.starts_with(option) && word.substr(option.size()).starts_with('='));
}

/// What cannot be asked of ranks; empty: nothing.
std::string refusal(const std::vector<std::string>& words) {
  for (const std::string& word : words) {
    if (is_option(word, "--shard") || is_option(word, "--part"))
      return "each rank is a shard and keeps its part: leave out " + word.substr(0, word.find('='));
    if (word == "-") return "standard input reaches one rank only; name files that all can read";
  }
  return {};
}

/// Of all ranks the same; none, after what is wrong was said.
std::optional<Arguments> arguments_of(std::vector<std::string> words, const Console& console) {
  if (const std::string why = refusal(words); !why.empty()) {
    console.complain(why);
    return std::nullopt;
  }
  words.insert(words.begin(), "replay");
  auto parsed = parse_configured(words, {console.folder, console.variable});
  if (parsed && parsed->command == Command::Replay) return std::move(*parsed);
  console.complain(parsed ? "that is for `meniscus replay` alone" : parsed.error().message);
  return std::nullopt;
}

/// This rank's shard.
Replayed replay_share(const Arguments& all, const Console& console, const World& world) {
  Arguments mine = all;
  mine.replay.shard = static_cast<std::size_t>(world.rank()) + 1;
  mine.replay.shards = static_cast<std::size_t>(world.size());
  // What one rank keeps to go on from later is nothing to another.
  if (!mine.replay.work.empty()) {
    mine.replay.work +=
        "/rank-" + std::to_string(mine.replay.shard) + "-of-" + std::to_string(mine.replay.shards);
  }
  if (mine.replay.threads == 0) mine.replay.threads = world.threads();
  try {
    return replay_orders(mine, console, Log(world.is_first() ? mine.log : LogLevel::Off, console));
  } catch (const std::exception& problem) {
    // Nothing of ours throws: this is a third party's, or memory has run out.
    console.complain(std::string("internal error: ") + problem.what());
    return {std::nullopt, ExitStatus::Internal};
  }
}

/// The status as a digit, and the part behind it, when there is one.
std::string handed_over(const Replayed& replayed) {
  std::string text(1, static_cast<char>('0' + static_cast<int>(replayed.failed)));
  if (replayed.summary) text += replay::part_json(*replayed.summary);
  return text;
}

ExitStatus put_together(const std::vector<std::string>& all, const Arguments& arguments,
                        const Console& console) {
  ExitStatus status = ExitStatus::Clean;
  std::vector<replay::Summary> parts;
  for (const std::string& text : all) {
    status = worst(status, static_cast<ExitStatus>(text.front() - '0'));
    if (text.size() == 1) continue;
    auto part = replay::read_part(std::string_view(text).substr(1));
    if (!part) {
      console.complain("the part of a rank: " + part.error().message);
      return ExitStatus::Internal;
    }
    parts.push_back(std::move(*part));
  }
  if (status != ExitStatus::Clean) return status;
  const auto merged = replay::merge_parts(parts);
  if (merged) return write_replay(*merged, arguments, console);
  console.complain(merged.error().message);
  return ExitStatus::Internal;
}
}  // namespace

ExitStatus run_rank(const std::vector<std::string>& words, const Console& console,
                    const World& world) {
  if (std::ranges::any_of(words,
                          [](const auto& word) { return word == "--help" || word == "-h"; })) {
    if (world.is_first()) console.say(kHelp);
    return ExitStatus::Clean;
  }
  Said said(console, world.is_first());
  Console kept = said.console();
  // Past midnight ranks might see different days.
  kept.today = world.agreed(console.today);
  const std::optional<Arguments> arguments = arguments_of(words, kept);
  const Replayed replayed =
      arguments ? replay_share(*arguments, kept, world) : Replayed{std::nullopt, ExitStatus::Usage};
  const std::vector<std::string> parts = world.gathered(handed_over(replayed));
  const std::vector<std::string> sentences = world.gathered(said.text());
  if (!world.is_first()) return ExitStatus::Clean;
  said.say_of_others(sentences);
  return put_together(parts, arguments.value_or(Arguments{}), console);
}

}  // namespace meniscus::adapters
