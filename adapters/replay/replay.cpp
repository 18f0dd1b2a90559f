// Contract: see replay.hpp.
#include "adapters/replay/replay.hpp"

#include <utility>

#include "adapters/replay/sorted_run.hpp"
#include "adapters/replay/stream_run.hpp"

namespace meniscus::adapters::replay {

Replay::Replay(const Plan& plan, Reading reading, ReplayOptions options)
    : plan_(plan), reading_(std::move(reading)), options_(std::move(options)) {
  reading_.words.clear();
  reading_.words.push_back(plan.sides[0].program.get());
  if (plan.words_differ) reading_.words.push_back(plan.sides[1].program.get());
}

engine::Result<ReplayResult> Replay::run() {
  if (!options_.sort) {
    StreamRun stream(plan_, reading_, options_.threads, progress_);
    auto streamed = stream.run();
    if (!streamed || stream.why_sort().empty()) return streamed;
    if (options_.say) options_.say("the input is sorted first: " + stream.why_sort());
    progress_.read = 0;
    progress_.bytes = 0;
  }
  SortedRun sorted(plan_, reading_, options_, progress_);
  return sorted.run();
}

}  // namespace meniscus::adapters::replay
