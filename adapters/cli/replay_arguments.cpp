// Contract: see replay_arguments.hpp.
#include "adapters/cli/replay_arguments.hpp"

#include <CLI/CLI.hpp>
#include <charconv>
#include <limits>
#include <optional>
#include <string_view>
#include <utility>

#include "engine/base/ascii.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters {

namespace {
using engine::Status;

engine::Error usage(std::string sentence) {
  return {engine::Errc::Usage, std::move(sentence), 0, 0};
}

std::string ticked(std::string_view text) { return "`" + std::string(text) + "`"; }

std::optional<std::size_t> whole_number(std::string_view text) {
  std::size_t number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return number;
}

Status read_count(std::string_view option, const std::string& text, std::size_t least,
                  std::size_t most, std::size_t& into) {
  if (text.empty()) return engine::Done{};
  const auto number = whole_number(text);
  if (!number || *number < least || *number > most) {
    return usage(std::string(option) + " cannot be " + ticked(text) +
                 "; write a whole number from " + std::to_string(least) + " to " +
                 std::to_string(most));
  }
  into = *number;
  return engine::Done{};
}

/// "10%", "10 %" or "10".
Status read_share(const std::string& text, double& into) {
  if (text.empty()) return engine::Done{};
  std::string_view number = text;
  if (number.ends_with('%')) number.remove_suffix(1);
  const auto share =
      engine::parse_number(engine::ascii::trimmed(number), engine::DecimalMark::Point);
  if (!share || *share < 0 || *share > 100)
    return usage("--often cannot be " + ticked(text) + "; write a share from 0% to 100%, as 10%");
  into = *share / 100;
  return engine::Done{};
}

Status read_to(const std::string& text, ReplayTo& into) {
  constexpr std::array<std::pair<std::string_view, ReplayTo>, 6> kWords = {
      {{"text", ReplayTo::Text},
       {"json", ReplayTo::Json},
       {"jsonl", ReplayTo::JsonLines},
       {"csv", ReplayTo::Csv},
       {"sarif", ReplayTo::Sarif},
       {"junit", ReplayTo::Junit}}};
  if (text.empty()) return engine::Done{};
  for (const auto& [word, to] : kWords) {
    if (word != text) continue;
    into = to;
    return engine::Done{};
  }
  return usage("--to cannot be " + ticked(text) +
               "; write one of text, json, jsonl, csv, sarif, junit");
}

/// "2/4".
Status read_shard(const std::string& text, std::size_t& shard, std::size_t& shards) {
  if (text.empty()) return engine::Done{};
  const std::size_t slash = text.find('/');
  const auto number = whole_number(std::string_view(text).substr(0, slash));
  const auto of = slash == std::string::npos
                      ? std::nullopt
                      : whole_number(std::string_view(text).substr(slash + 1));
  if (!number || !of || *number < 1 || *number > *of || *of > 100'000)
    return usage("--shard cannot be " + ticked(text) + "; write the second of four parts as 2/4");
  shard = *number;
  shards = *of;
  return engine::Done{};
}
}  // namespace

void ReplayOptions::add_output(CLI::App& app) {
  app.add_option("--report", into_.report);
  app.add_option("--to", to_);
  app.add_flag("--show-patients", into_.show_patients);
}

void ReplayOptions::add_to(CLI::App& replay) {
  add_output(replay);
  replay.add_option("--against", into_.against)->allow_extra_args(false);
  replay.add_option("--warm-up", into_.warm_up)->allow_extra_args(false);
  replay.add_option("--threads", threads_);
  replay.add_option("--shard", shard_);
  replay.add_option("--part", into_.part);
  replay.add_option("--often", often_);
  replay.add_option("--seed", seed_);
  replay.add_option("--examples", examples_);
  replay.add_option("--sample", sample_);
  replay.add_option("--labels", into_.labels);
  replay.add_flag("--sort", into_.sort);
  replay.add_option("--work", into_.work);
}

void ReplayOptions::add_to_merge(CLI::App& merge) { add_output(merge); }

Status ReplayOptions::check() {
  const std::array<Status, 7> checks = {
      read_to(to_, into_.to),
      read_count("--threads", threads_, 1, 1024, into_.threads),
      read_shard(shard_, into_.shard, into_.shards),
      read_share(often_, into_.often),
      read_count("--seed", seed_, 0, std::numeric_limits<std::size_t>::max(), into_.seed),
      read_count("--sample", sample_, 1, 10'000, into_.sample),
      read_count("--examples", examples_, 0, 1000, into_.examples)};
  for (const Status& status : checks) {
    if (!status) return status;
  }
  if ((into_.sample > 0) != !into_.labels.empty())
    return usage("a sample needs its size and its file: --sample 20 --labels sample.csv");
  if (into_.sample > 0 && !into_.part.empty())
    return usage("a sample is drawn from a whole run; leave --part away");
  if (into_.shards > 1 && into_.part.empty())
    return usage("a shard is a part of a run; write where to keep it: --part part-1.json");
  if (!into_.part.empty() && !into_.report.empty())
    return usage(
        "a part has no report of its own; `meniscus replay merge` makes it from all parts");
  return engine::Done{};
}

}  // namespace meniscus::adapters
