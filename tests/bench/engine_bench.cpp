// The engine apart from its readers and writers: compiling the shipped rules, judging a block of
// orders over columns, and judging the same orders one at a time.
//
// Compare within one run: the two ways of judging share orders, rules and machine.  Without history
// every order belongs to a patient of its own, so only the rules' own work is measured.
#include <benchmark/benchmark.h>

#include <string>

#include "adapters/input/byte_sources.hpp"
#include "adapters/json/json_source.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/eval/checker.hpp"
#include "tests/bench/order_maker.hpp"

namespace {

using namespace meniscus;  // NOLINT(google-build-using-namespace): one program, one file

const std::string kRules = MENISCUS_SOURCE_DIR "/rules";

const std::shared_ptr<const engine::Program>& shipped() {
  static const std::shared_ptr<const engine::Program> program =
      adapters::load_rules({kRules}, adapters::re2_patterns()).program;
  return program;
}

void compile_rules(benchmark::State& state) {
  std::size_t rules = 0;
  for (auto _ : state) {
    const adapters::LoadedRules loaded = adapters::load_rules({kRules}, adapters::re2_patterns());
    if (!loaded.program) return state.SkipWithError("the shipped rules do not compile");
    rules = loaded.program->rules.size();
  }
  state.counters["rules"] = static_cast<double>(rules);
}
BENCHMARK(compile_rules)->Unit(benchmark::kMillisecond);

/// Judges one block of made orders again and again.
void judge(benchmark::State& state, engine::Mode mode) {
  const std::string text = bench::make_orders(engine::kLanes);
  const engine::Feed feed;
  const auto source =
      adapters::make_json_source({"-", adapters::memory_bytes(text), 0}, {shipped().get(), &feed});
  engine::OrderBlock block;
  if (!source->next(block)) return state.SkipWithError("no orders");
  engine::CheckOptions options;
  options.mode = mode;
  engine::Checker checker(shipped(), options);
  std::size_t findings = 0;
  for (auto _ : state) {
    engine::History history(0, {}, {});  // remembers nothing
    checker.check(block, history,
                  [&](const engine::Verdict& verdict) { findings += verdict.findings.size(); });
  }
  benchmark::DoNotOptimize(findings);
  state.SetItemsProcessed(static_cast<std::int64_t>(state.iterations()) * block.size());
  state.counters["ns_per_rule_and_order"] =
      benchmark::Counter(static_cast<double>(state.iterations()) * block.size() *
                             static_cast<double>(shipped()->rules.size()) * 1e-9,
                         benchmark::Counter::kIsRate | benchmark::Counter::kInvert);
}
void judge_over_columns(benchmark::State& state) { judge(state, engine::Mode::Columns); }
void judge_one_by_one(benchmark::State& state) { judge(state, engine::Mode::OneByOne); }
BENCHMARK(judge_over_columns);
BENCHMARK(judge_one_by_one);

}  // namespace

BENCHMARK_MAIN();
