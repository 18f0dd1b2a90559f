// Orders from JSON lines into blocks: what reading costs before anything is judged.
//
// Yardstick: the bare pass of simdjson over the same orders is in yardstick_bench.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cstring>
#include <string>
#include <string_view>

#include "adapters/json/json_source.hpp"
#include "adapters/support/view_bytes.hpp"
#include "tests/bench/order_maker.hpp"

namespace {

using namespace meniscus;  // NOLINT(google-build-using-namespace): one program, one file

constexpr std::size_t kOrders = 20000;

/// Words as a rule set has them, so that look-ups are hits.
engine::Program make_program() {
  engine::Program program;
  const auto add = [&](engine::FieldId field, std::initializer_list<const char*> words) {
    for (const char* word : words)
      program.vocabularies[engine::index(field)].add(word, word);
  };
  add(engine::FieldId::OrderAction, {"new", "change", "stop", "cancel", "given"});
  add(engine::FieldId::Route, {"subcutaneous", "intramuscular", "intravenous"});
  add(engine::FieldId::Site, {"abdomen", "thigh", "deltoid", "gluteal"});
  add(engine::FieldId::Side, {"left", "right", "middle"});
  return program;
}

void read_json_lines(benchmark::State& state) {
  const std::string text = bench::make_orders(kOrders);
  const engine::Program program = make_program();
  const engine::Feed feed;
  engine::OrderBlock block;
  std::size_t orders = 0;
  for (auto _ : state) {
    const auto source = adapters::make_json_source(
        {"-", std::make_unique<adapters::ViewBytes>(text), 0}, {&program, &feed});
    while (source->next(block))
      orders += block.size();
  }
  if (orders % kOrders != 0) state.SkipWithError("orders were lost");
  state.SetItemsProcessed(static_cast<std::int64_t>(orders));
  state.SetBytesProcessed(static_cast<std::int64_t>(text.size() * state.iterations()));
}
BENCHMARK(read_json_lines)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
