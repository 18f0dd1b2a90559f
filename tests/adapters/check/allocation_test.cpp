// A sound order costs no allocation once everything has grown to its size: reading, judging over
// columns, the verdict, and, apart from new blocks of memory now and then, history.
#include <gtest/gtest.h>

#include <atomic>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <new>

#include "adapters/input/byte_sources.hpp"
#include "adapters/json/json_source.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/eval/checker.hpp"

// The sanitizers count for themselves.
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
namespace {
std::atomic<std::size_t>& allocations() {
  static std::atomic<std::size_t> count{0};
  return count;
}
}  // namespace

void* operator new(std::size_t size) {
  allocations().fetch_add(1, std::memory_order_relaxed);
  if (void* p = std::malloc(size)) return p;  // NOLINT(cppcoreguidelines-no-malloc)
  throw std::bad_alloc();
}
void operator delete(void* p) noexcept { std::free(p); }  // NOLINT(cppcoreguidelines-no-malloc)
void operator delete(void* p, std::size_t /*size*/) noexcept {
  std::free(p);  // NOLINT(cppcoreguidelines-no-malloc)
}

namespace meniscus {
namespace {

/// Orders of one patient, a week apart, left and right in turn: each is clear.
std::string sound_orders(std::size_t count) {
  std::string text;
  for (std::size_t i = 0; i < count; ++i) {
    const std::string day = engine::format_day(20454 + static_cast<std::int64_t>(i % 40) * 7);
    const std::string patient = "SM-" + std::to_string(1000 + i / 40);
    text += R"({"order":{"id":"A-)" + std::to_string(i) + R"(","placed":")" + day +
            R"("},"patient":{"id":")" + patient +
            R"(","born":"1988-04-02","sex":"female","weight":"71 kg","allergies":[]},)"
            R"("substance":{"code":"testosterone-cypionate","vehicle":"cottonseed-oil"},)"
            R"("dose":"50 mg","strength":"200 mg/mL","volume":"0.25 mL","route":"subcutaneous",)"
            R"("site":"abdomen","side":")" +
            (i % 2 == 0 ? "left" : "right") +
            R"(","syringe":{"capacity":"1 mL","graduation":"0.01 mL","needle":"detachable"},)"
            R"("needle":{"gauge":"25 G","length":"5/8 in"},)"
            R"("draw-needle":{"gauge":"18 G","length":"1 in"},)"
            R"("schedule":{"every":"1 wk","start":")" +
            day + R"(","end":")" + day +
            R"("},"vial":{"volume":"1 mL","kind":"multi-dose","opened":")" + day + R"("}})" + "\n";
  }
  return text;
}

TEST(Allocation, NoneForASoundOrder) {
  const auto program =
      adapters::load_rules({MENISCUS_SOURCE_DIR "/rules"}, adapters::re2_patterns()).program;
  ASSERT_NE(program, nullptr);
  const std::string text = sound_orders(64 * 40);
  const engine::Feed feed;
  const auto source =
      adapters::make_json_source({"-", adapters::memory_bytes(text), 0}, {program.get(), &feed});
  engine::Answers answers;  // to questions of others
  answers.add({"B-1", "SM-0001", "dose-volume-agreement", 1, "s", "a", "t", "r", 0, 99999, {}, 1});
  engine::CheckOptions options;
  options.answers = &answers;
  engine::Checker checker(program, options);
  engine::History history(program->look_back, program->history_fields, program->history_written);
  engine::OrderBlock block;
  std::size_t orders = 0;
  std::size_t findings = 0;
  std::size_t counted_orders = 0;
  std::size_t counted = 0;
  const engine::Checker::Report report = [&](const engine::Verdict& verdict) {
    ++orders;
    findings += verdict.findings.size();
    EXPECT_TRUE(verdict.outcome == engine::Outcome::Clear)
        << verdict.order << " " << name(verdict.outcome) << " "
        << (verdict.findings.empty() ? "" : verdict.findings.front().say)
        << (verdict.not_assessed.empty() ? "" : verdict.not_assessed.front().missing);
  };
  while (true) {
    const std::size_t before = allocations().load();
    if (!source->next(block)) break;
    checker.check(block, history, report);
    if (orders <= 64 * 4) continue;  // warm
    counted += allocations().load() - before;
    counted_orders += block.size();
  }
  EXPECT_EQ(orders, 64U * 40U);
  EXPECT_EQ(findings, 0U);
  // A new patient has a list of its own; memory comes in blocks: far below one an order.
  EXPECT_LT(static_cast<double>(counted) / static_cast<double>(counted_orders), 0.5)
      << counted << " allocations for " << counted_orders << " orders";
}

/// Allocations of a run over orders that are held, once everything has grown to its size.
/// `local`: a file of local changes, or empty.
std::size_t allocations_of_held_orders(bool slips, const std::string& local = {}) {
  std::vector<std::string> paths = {MENISCUS_SOURCE_DIR "/rules"};
  if (!local.empty()) paths.push_back(local);
  adapters::LoadOptions load;
  load.shipped = paths.front();
  load.rules_day = 20514;  // 2026-03-02
  load.allow_mute_hold = true;
  const auto program = adapters::load_rules(paths, adapters::re2_patterns(), load).program;
  std::string text = sound_orders(64 * 40);
  const std::string_view sound = R"("volume":"0.25 mL")";
  for (std::size_t at = text.find(sound); at != std::string::npos; at = text.find(sound, at))
    text.replace(at, sound.size(), R"("volume":"0.52 mL")");
  const engine::Feed feed;
  const auto source =
      adapters::make_json_source({"-", adapters::memory_bytes(text), 0}, {program.get(), &feed});
  engine::CheckOptions options;
  options.slips = slips;
  engine::Checker checker(program, options);
  engine::History history(program->look_back, program->history_fields, program->history_written);
  engine::OrderBlock block;
  std::size_t named = 0;
  std::size_t muted = 0;
  std::size_t blocks = 0;
  std::size_t counted = 0;
  while (true) {
    const std::size_t before = allocations().load();
    if (!source->next(block)) break;
    checker.check(block, history, [&](const engine::Verdict& v) {
      named += v.slips.size();
      muted += v.muted.size();
    });
    if (++blocks > 8) counted += allocations().load() - before;
  }
  EXPECT_EQ(named > 0, slips);
  EXPECT_EQ(muted > 0, !local.empty());
  return counted;
}

TEST(Allocation, NoneForTheSearchForSlips) {
  const std::size_t without = allocations_of_held_orders(false);
  const std::size_t with = allocations_of_held_orders(true);
  constexpr double kOrders = 64 * 32;
  EXPECT_LT((static_cast<double>(with) - static_cast<double>(without)) / kOrders, 0.5)
      << with << " with slips, " << without << " without";
}

TEST(Allocation, NoneForWhatIsMuted) {
  const std::string local = ::testing::TempDir() + "allocation-local.rule";
  std::ofstream(local) << "mute dose-volume-agreement where dose > 1 mg because \"r\" by \"n\" "
                          "until 2026-12-31\n";
  const std::size_t shown = allocations_of_held_orders(false);
  const std::size_t muted = allocations_of_held_orders(false, local);
  std::remove(local.c_str());
  EXPECT_LE(muted, shown);
}

}  // namespace
}  // namespace meniscus
#endif
