// How fast Meniscus reads and judges a file of orders, beside a checker written by hand
// (yardstick/yardstick.hpp).
//
// Yardstick:  in this process, JSON Lines in memory, ten rules.
// Meniscus:   the program itself, end to end: its start, the shipped rules read and compiled, the
// file read, every order
//             judged by all rules, JSON Lines written.  `orders/s` is over the whole run; `Start`
//             is a run of one order.
#include <benchmark/benchmark.h>
#include <simdjson.h>

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <string>

#include "tests/bench/order_maker.hpp"
#include "tests/bench/yardstick/yardstick.hpp"

namespace {

namespace bench = meniscus::bench;

constexpr std::size_t kOrders = 9000;  // below the number of patients: nobody comes twice

std::string padded(std::string text) {
  text.reserve(text.size() + simdjson::SIMDJSON_PADDING);
  return text;
}

void set_rate(benchmark::State& state, std::size_t orders, std::size_t bytes) {
  const auto runs = static_cast<double>(state.iterations());
  state.counters["orders/s"] =
      benchmark::Counter(runs * static_cast<double>(orders), benchmark::Counter::kIsRate);
  state.counters["bytes/order"] = static_cast<double>(bytes) / static_cast<double>(orders);
}

void Yardstick(benchmark::State& state) {
  const std::string orders = padded(bench::make_orders(kOrders));
  std::size_t findings = 0;
  for (auto step : state) {
    (void)step;
    const std::size_t read = bench::run_yardstick(
        orders,
        [&](std::string_view, const bench::YardstickFindings& f) { findings += f.all().size(); });
    if (read != kOrders) state.SkipWithError("not every order was read");
  }
  benchmark::DoNotOptimize(findings);
  set_rate(state, kOrders, orders.size());
}
BENCHMARK(Yardstick)->Unit(benchmark::kMillisecond);

#ifdef MENISCUS_PROGRAM
void run_program(benchmark::State& state, std::size_t orders, const std::string& arguments) {
  const std::string file = std::string(MENISCUS_BINARY_DIR) + "/bench-orders.ndjson";
  const std::string text = bench::make_orders(orders);
  std::ofstream(file, std::ios::binary) << text;
  const std::string command = std::string(MENISCUS_PROGRAM) + " check " + file +
                              " --from ndjson --as-of 2026-03-31 --only-rules --rules " +
                              MENISCUS_SOURCE_DIR + "/rules " + arguments + " >/dev/null";
  for (auto step : state) {
    (void)step;
    const int status = std::system(command.c_str());
    if (status < 0 || status / 256 > 1)
      state.SkipWithError("the program could not read the orders");
  }
  set_rate(state, orders, text.size());
  std::remove(file.c_str());
}

void MeniscusStart(benchmark::State& state) { run_program(state, 1, "--to jsonl"); }
BENCHMARK(MeniscusStart)->Unit(benchmark::kMillisecond)->UseRealTime();

void MeniscusToJsonLines(benchmark::State& state) {
  run_program(state, static_cast<std::size_t>(state.range(0)), "--to jsonl");
}
BENCHMARK(MeniscusToJsonLines)
    ->Arg(9000)
    ->Arg(100000)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();
#endif

}  // namespace

BENCHMARK_MAIN();
