// Where the time of `meniscus check` goes: the same orders read only, read and judged, and read,
// judged and written, beside the yardstick (yardstick/yardstick.hpp).
//
// Says:     `ns_an_order`, the least CPU time of a turn, and `of_yardstick`, the yardstick's over
// ours; all
//           four take turns in one process, so that whatever slows the machine slows all.
// Orders:   of patients who come once (History = 0), or ten times each (1).
// Rules:    all that are shipped; slips are off.
#include <benchmark/benchmark.h>
#include <simdjson.h>

#include <algorithm>
#include <ctime>
#include <filesystem>
#include <limits>
#include <memory>
#include <string>

#include "adapters/input/open_orders.hpp"
#include "adapters/report/jsonl_writer.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/support/heap_pages.hpp"
#include "adapters/support/view_bytes.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/eval/checker.hpp"
#include "engine/order/feed.hpp"
#include "tests/bench/order_maker.hpp"
#include "tests/bench/yardstick/yardstick.hpp"

namespace {

namespace bench = meniscus::bench;
namespace engine = meniscus::engine;
namespace adapters = meniscus::adapters;

enum class Phase : std::uint8_t { Read, Judge, Write };

using ProgramPointer = std::shared_ptr<const engine::Program>;

std::size_t run(const ProgramPointer& program, const std::string& orders, Phase phase) {
  const engine::Feed feed;
  const engine::ReadContext context{program.get(), &feed};
  auto opened = adapters::open_orders({"-", std::make_unique<adapters::ViewBytes>(orders), 0},
                                      adapters::Format::Json, context);
  engine::CheckOptions options;
  options.today = 20500;
  options.slips = false;
  engine::Checker checker(program, options);
  engine::History history(program->look_back, program->history_fields, program->history_written);
  engine::OrderBlock block;
  std::size_t done = 0;
  adapters::JsonLinesWriter writer(
      [&done](std::string_view bytes) -> engine::Status {
        done += bytes.size();
        return engine::Done{};
      },
      program->hash);
  writer.begin({1, program->hash});
  while (opened->source->next(block)) {
    done += block.size();
    if (phase == Phase::Read) continue;
    checker.check(block, history, [&](const engine::Verdict& verdict) {
      done += verdict.findings.size();
      if (phase == Phase::Write) writer.write(verdict, block, *opened->source);
    });
  }
  (void)writer.finish();
  return done;
}

std::size_t run_yardstick(const std::string& orders) {
  std::size_t found = 0;
  bench::run_yardstick(orders, [&](std::string_view, const bench::YardstickFindings& findings) {
    found += findings.all().size();
  });
  return found;
}

/// The least CPU time of a turn so far.
class Least {
 public:
  template <class F>
  void time(F&& turn) {
    const std::clock_t start = std::clock();
    benchmark::DoNotOptimize(turn());
    least_ = std::min(least_, std::clock() - start);
  }
  [[nodiscard]] double clocks() const { return static_cast<double>(least_); }

 private:
  std::clock_t least_ = std::numeric_limits<std::clock_t>::max();
};

void phases(benchmark::State& state) {
  constexpr std::size_t kPatients = 9000;  // fewer than the maker has: nobody comes twice
  constexpr std::size_t kVisits = 10;
  adapters::HeapPages heap;
  const std::size_t count = kPatients * (state.range(0) != 0 ? kVisits : 1);
  std::string orders = bench::make_orders(count);
  orders.reserve(orders.size() + simdjson::SIMDJSON_PADDING);
  const auto folder = std::filesystem::path(MENISCUS_SOURCE_DIR) / "rules";
  const auto program = adapters::load_rules({folder.string()}, adapters::re2_patterns()).program;
  if (program == nullptr) return state.SkipWithError("the rules do not compile");
  Least yardstick;
  Least read;
  Least judged;
  Least written;
  for (auto step : state) {
    (void)step;
    yardstick.time([&] { return run_yardstick(orders); });
    read.time([&] { return run(program, orders, Phase::Read); });
    judged.time([&] { return run(program, orders, Phase::Judge); });
    written.time([&] { return run(program, orders, Phase::Write); });
  }
  const double nanoseconds = 1e9 / CLOCKS_PER_SEC / static_cast<double>(count);
  state.counters["yardstick_ns"] = yardstick.clocks() * nanoseconds;
  state.counters["read_ns"] = read.clocks() * nanoseconds;
  state.counters["judged_ns"] = judged.clocks() * nanoseconds;
  state.counters["written_ns"] = written.clocks() * nanoseconds;
  state.counters["of_yardstick"] = yardstick.clocks() / written.clocks();
}
BENCHMARK(phases)->ArgName("History")->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
