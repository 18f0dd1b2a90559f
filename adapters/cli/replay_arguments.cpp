// Contract: see replay_arguments.hpp.
#include "adapters/cli/replay_arguments.hpp"

#include <CLI/CLI.hpp>
#include <array>
#include <limits>
#include <optional>
#include <string_view>

#include "adapters/cli/option_values.hpp"

namespace meniscus::adapters {

namespace {
using engine::Status;

const Words<ReplayTo>& to_words() {
  static const Words<ReplayTo> kWords = {
      {"text", ReplayTo::Text}, {"json", ReplayTo::Json},   {"jsonl", ReplayTo::JsonLines},
      {"csv", ReplayTo::Csv},   {"sarif", ReplayTo::Sarif}, {"junit", ReplayTo::Junit}};
  return kWords;
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
    return usage("--shard cannot be " + in_ticks(text) + "; write the second of four parts as 2/4");
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
  std::optional<double> often;  // percent
  const std::array<Status, 7> checks = {
      read_word("--to", to_, to_words(), into_.to),
      read_count("--threads", threads_, 1, 1024, into_.threads),
      read_shard(shard_, into_.shard, into_.shards),
      read_share("--often", often_, "10%", often),
      read_count("--seed", seed_, 0, std::numeric_limits<std::size_t>::max(), into_.seed),
      read_count("--sample", sample_, 1, 10'000, into_.sample),
      read_count("--examples", examples_, 0, 1000, into_.examples)};
  for (const Status& status : checks) {
    if (!status) return status;
  }
  if (often) into_.often = *often / 100;
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
