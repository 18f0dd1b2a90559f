// How fast Meniscus reads and judges a file of orders, beside a checker written by hand
// (yardstick/yardstick.hpp).
//
// Fair:       both read the same JSON Lines or HL7 v2 messages from memory and write JSON Lines;
// they take turns in
//             one process, so that whatever slows the machine slows both.
// Says:       `of_yardstick`: the yardstick's least CPU time of a turn over ours, 1 is as fast. Its
// checks are a dozen
//             in ten rules: SameRules runs those ten of the shipped rules, AllRules all of them.
// Start:      the program itself on one order, from its start to its end; Compiled:1 with the rules
//             as `meniscus rules compile` keeps them.
// TwoThreads: the program on a file with one thread and with two, its start taken off.
// Orders:     of made-up patients who come once (History = 0), or ten times each (1).
#include <benchmark/benchmark.h>
#include <simdjson.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <limits>
#include <memory>
#include <string>
#include <thread>

#include "adapters/input/open_orders.hpp"
#include "adapters/profile/profile.hpp"
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
namespace fs = std::filesystem;
constexpr std::size_t kPatients = 9000;  // fewer than the maker has: nobody comes twice
constexpr std::size_t kVisits = 10;
constexpr std::size_t kPiece = std::size_t{256} << 10U;

std::string padded(std::string text) {
  text.reserve(text.size() + simdjson::SIMDJSON_PADDING);
  return text;
}

/// The form that the orders have.
struct Form {
  adapters::Format format = adapters::Format::Json;
  std::string (*make)(std::size_t count, std::uint64_t seed) = nullptr;
  std::size_t (*yardstick)(std::string_view orders, const bench::YardstickReport& report) = nullptr;
  std::string profile;
};

Form json_lines() { return {adapters::Format::Json, bench::make_orders, bench::run_yardstick, {}}; }
Form messages() {
  return {adapters::Format::Hl7, bench::make_messages, bench::run_message_yardstick,
          bench::message_profile()};
}

/// What the yardstick finds, one order a line.
std::size_t write_yardstick(const Form& form, const std::string& orders) {
  std::string out;
  std::size_t written = 0;
  form.yardstick(orders, [&](std::string_view id, const bench::YardstickFindings& findings) {
    out.append(R"({"order":")").append(id).append(R"(","findings":[)");
    const char* separator = "";
    for (const bench::YardstickFinding& finding : findings.all()) {
      out.append(separator).append(R"({"rule":")").append(finding.rule);
      out.append(R"(","grade":")").append(engine::name(finding.grade)).append("\"}");
      separator = ",";
    }
    out.append("]}\n");
    if (out.size() < kPiece) return;
    written += out.size();
    out.clear();
  });
  return written + out.size();
}

std::size_t write_meniscus(const std::shared_ptr<const engine::Program>& program, const Form& form,
                           const std::string& orders, adapters::HeapPages& heap) {
  const engine::Feed feed =
      form.profile.empty() ? engine::Feed{} : *adapters::read_profile(form.profile).feed;
  const engine::ReadContext context{program.get(), &feed};
  auto opened = adapters::open_orders({"-", std::make_unique<adapters::ViewBytes>(orders), 0},
                                      form.format, context);
  engine::CheckOptions options;
  options.today = 20500;
  options.slips = false;
  engine::Checker checker(program, options);
  engine::History history(program->look_back, program->history_fields, program->history_written);
  engine::OrderBlock block;
  std::size_t written = 0;
  adapters::JsonLinesWriter writer(
      [&written](std::string_view bytes) -> engine::Status {
        written += bytes.size();
        return engine::Done{};
      },
      program->hash);
  writer.begin({1, program->hash});
  while (opened->source->next(block)) {
    heap.keep_up();
    checker.check(block, history, [&](const engine::Verdict& verdict) {
      writer.write(verdict, block, *opened->source);
    });
  }
  (void)writer.finish();
  return written;
}

/// The shipped rules, all of them or those that the yardstick knows, with their tables.
std::shared_ptr<const engine::Program> load(bool all) {
  const fs::path shipped = fs::path(MENISCUS_SOURCE_DIR) / "rules";
  if (all) return adapters::load_rules({shipped.string()}, adapters::re2_patterns()).program;
  const fs::path some = fs::path(MENISCUS_BINARY_DIR) / "bench-rules";
  fs::remove_all(some);
  fs::create_directories(some);
  for (const auto& entry : fs::recursive_directory_iterator(shipped)) {
    const fs::path& file = entry.path();
    const auto known = bench::yardstick_rules();
    const bool wanted =
        entry.is_regular_file() &&
        (file.extension() != ".rule" || file.stem() == "00-common" ||
         std::find(known.begin(), known.end(), file.stem().string()) != known.end());
    if (wanted) fs::copy_file(file, some / file.filename());
  }
  adapters::LoadOptions options;
  options.examples = false;  // they name rules that are left out
  return adapters::load_rules({some.string()}, adapters::re2_patterns(), options).program;
}

void beside_yardstick(benchmark::State& state, const Form& form, bool all) {
  adapters::HeapPages heap;
  const bool come_again = state.range(0) != 0;
  const std::size_t count = kPatients * (come_again ? kVisits : 1);
  const std::string orders = padded(form.make(count, 1));
  const auto program = load(all);
  if (program == nullptr) return state.SkipWithError("the rules do not compile");
  std::clock_t theirs = std::numeric_limits<std::clock_t>::max();
  std::clock_t ours = theirs;
  for (auto step : state) {
    (void)step;
    const std::clock_t start = std::clock();
    benchmark::DoNotOptimize(write_yardstick(form, orders));
    const std::clock_t middle = std::clock();
    benchmark::DoNotOptimize(write_meniscus(program, form, orders, heap));
    ours = std::min(ours, std::clock() - middle);
    theirs = std::min(theirs, middle - start);
  }
  state.counters["of_yardstick"] = static_cast<double>(theirs) / static_cast<double>(ours);
  state.counters["rules"] = static_cast<double>(program->rules.size());
}

void SameRules(benchmark::State& state) { beside_yardstick(state, json_lines(), false); }
void AllRules(benchmark::State& state) { beside_yardstick(state, json_lines(), true); }
void SameRulesHl7(benchmark::State& state) { beside_yardstick(state, messages(), false); }
void AllRulesHl7(benchmark::State& state) { beside_yardstick(state, messages(), true); }
BENCHMARK(SameRules)->ArgName("History")->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond);
BENCHMARK(AllRules)->ArgName("History")->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond);
BENCHMARK(SameRulesHl7)->ArgName("History")->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond);
BENCHMARK(AllRulesHl7)->ArgName("History")->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond);

#ifdef MENISCUS_PROGRAM
/// A copy of the shipped rules, so that nothing is written into them; empty where they do not
/// compile.
std::string copy_of_rules(bool is_compiled) {
  namespace fs = std::filesystem;
  const std::string folder = std::string(MENISCUS_BINARY_DIR) + "/bench-rules";
  fs::remove_all(folder);
  fs::copy(std::string(MENISCUS_SOURCE_DIR) + "/rules", folder, fs::copy_options::recursive);
  fs::remove(folder + "/.compiled-rules");
  const std::string command = std::string(MENISCUS_PROGRAM) +
                              " rules compile --only-rules --rules " + folder +
                              " --rules-as-of 2026-03-31 >/dev/null";
  return is_compiled && std::system(command.c_str()) != 0 ? std::string() : folder;
}

void Start(benchmark::State& state) {
  const std::string rules = copy_of_rules(state.range(0) != 0);
  if (rules.empty()) return state.SkipWithError("the rules do not compile");
  const std::string file = std::string(MENISCUS_BINARY_DIR) + "/bench-orders.ndjson";
  std::ofstream(file, std::ios::binary) << bench::make_orders(1);
  const std::string command = std::string(MENISCUS_PROGRAM) + " check " + file +
                              " --from ndjson --as-of 2026-03-31 --only-rules --rules " + rules +
                              " --to jsonl >/dev/null";
  for (auto step : state) {
    (void)step;
    const int status = std::system(command.c_str());
    if (status < 0 || status / 256 > 1) state.SkipWithError("the program could not read the order");
  }
  std::remove(file.c_str());
  std::filesystem::remove_all(rules);
}
/// Seconds by the clock.
template <class Act>
double clocked(Act act) {
  const auto start = std::chrono::steady_clock::now();
  act();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

/// How much faster two threads are than one, beside how much faster two halves of the yardstick's
/// orders at once are than one after the other.
void TwoThreads(benchmark::State& state) {
  const std::string rules = copy_of_rules(true);
  if (rules.empty()) return state.SkipWithError("the rules do not compile");
  const Form form = json_lines();
  const std::string orders = padded(form.make(kPatients * kVisits, 1));
  const std::string half = padded(form.make(kPatients * kVisits / 2, 1));
  const std::string one = std::string(MENISCUS_BINARY_DIR) + "/bench-order.ndjson";
  const std::string all = std::string(MENISCUS_BINARY_DIR) + "/bench-orders.ndjson";
  std::ofstream(one, std::ios::binary) << form.make(1, 1);
  std::ofstream(all, std::ios::binary) << orders;
  const auto check = [&](const std::string& file, const char* threads) {
    const std::string command = std::string(MENISCUS_PROGRAM) + " check " + file +
                                " --as-of 2026-03-31 --only-rules --no-slips --to jsonl --rules " +
                                rules + " --threads " + threads + " >/dev/null";
    return clocked([&] {
      const int status = std::system(command.c_str());
      if (status < 0 || status / 256 > 1) state.SkipWithError("the program could not read");
    });
  };
  constexpr double kMost = std::numeric_limits<double>::max();
  double start = kMost;
  std::array<double, 2> ours{kMost, kMost};
  std::array<double, 2> theirs{kMost, kMost};
  for (auto step : state) {
    (void)step;
    start = std::min(start, check(one, "1"));
    ours[0] = std::min(ours[0], check(all, "1"));
    ours[1] = std::min(ours[1], check(all, "2"));
    theirs[0] = std::min(theirs[0], clocked([&] {
                           write_yardstick(form, half);
                           write_yardstick(form, half);
                         }));
    theirs[1] = std::min(theirs[1], clocked([&] {
                           std::thread other([&] { write_yardstick(form, half); });
                           write_yardstick(form, half);
                           other.join();
                         }));
  }
  const double scaling = (ours[0] - start) / (ours[1] - start);
  state.counters["scaling"] = scaling;
  state.counters["yardstick_scaling"] = theirs[0] / theirs[1];
  state.counters["of_yardstick"] = scaling * theirs[1] / theirs[0];
  std::remove(one.c_str());
  std::remove(all.c_str());
  std::filesystem::remove_all(rules);
}
BENCHMARK(TwoThreads)->Unit(benchmark::kMillisecond)->UseRealTime()->Iterations(5);
BENCHMARK(Start)->ArgName("Compiled")->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond)->UseRealTime();
#endif

}  // namespace

BENCHMARK_MAIN();
