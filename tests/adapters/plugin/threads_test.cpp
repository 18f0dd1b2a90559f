// Several threads share one handle of rules, each with its checker; to be run under the thread
// sanitizer (./dev tsan).
#include <gtest/gtest.h>

#include <atomic>
#include <thread>

#include "tests/adapters/plugin/plugin_host.hpp"

namespace meniscus::plugin_tests {
namespace {

constexpr int kThreads = 4;
constexpr int kRounds = 3;

TEST(Threads, ShareRulesAndAgree) {
  const Settings wanted = settings({{"only-rules", "yes"},
                                    {"rules", kRules},
                                    {"as-of", "2026-03-02"},
                                    {"on-hold", "ua"},
                                    {"history", "input"}});
  const std::string inputs[] = {read(kFixtures / "demo" / "orders.ndjson"),
                                read(kFixtures / "demo" / "orders.csv"),
                                read(kFixtures / "demo" / "orders.hl7")};
  Rules rules = load(wanted.get());
  std::string expected;
  for (const std::string& input : inputs)
    expected += jsonl(check(make_checker(rules, wanted), input));

  // Settings are one thread's at a time: the checkers are made before the threads begin.
  std::vector<Checker> checkers;
  for (int i = 0; i < kThreads * kRounds; ++i)
    for (std::size_t input = 0; input < std::size(inputs); ++input)
      checkers.push_back(make_checker(rules, wanted));
  std::atomic<int> agreed{0};
  std::vector<std::thread> threads;
  threads.reserve(kThreads);
  for (int thread = 0; thread < kThreads; ++thread) {
    threads.emplace_back([&, thread] {
      for (int round = 0; round < kRounds; ++round) {
        std::string said;
        const std::size_t first =
            static_cast<std::size_t>(thread * kRounds + round) * std::size(inputs);
        for (std::size_t input = 0; input < std::size(inputs); ++input)
          said += jsonl(check(checkers[first + input], inputs[input]));
        if (said == expected && *meniscus_rules_hash(rules.get()) != '\0') ++agreed;
      }
    });
  }
  for (std::thread& thread : threads)
    thread.join();
  EXPECT_EQ(agreed, kThreads * kRounds);
}

TEST(Threads, LoadRulesSideBySide) {
  std::atomic<int> agreed{0};
  std::vector<std::thread> threads;
  threads.reserve(kThreads);
  for (int i = 0; i < kThreads; ++i) {
    threads.emplace_back([&] {
      const Settings wanted = settings({{"only-rules", "yes"},
                                        {"rules", kRules},
                                        {"rules-as-of", "2026-03-02"},
                                        {"as-of", "2026-03-02"},
                                        {"history", "input"}});
      const Rules rules = load(wanted.get());
      const Checker checker = make_checker(rules, wanted);
      rules.get();
      if (meniscus_verdicts_count(check(checker, order("A-1", "2026-03-02")).get()) == 1) ++agreed;
    });
  }
  for (std::thread& thread : threads)
    thread.join();
  EXPECT_EQ(agreed, kThreads);
}

TEST(Threads, VerdictsMayBeReadByAll) {
  const Settings wanted =
      settings({{"only-rules", "yes"}, {"rules", kRules}, {"history", "input"}});
  Verdicts verdicts =
      check(make_checker(load(wanted.get()), wanted), read(kFixtures / "demo" / "orders.ndjson"));
  const std::string expected = outcomes(verdicts);
  std::atomic<int> agreed{0};
  std::vector<std::thread> threads;
  threads.reserve(kThreads);
  for (int i = 0; i < kThreads; ++i)
    threads.emplace_back([&] { agreed += outcomes(verdicts) == expected ? 1 : 0; });
  for (std::thread& thread : threads)
    thread.join();
  EXPECT_EQ(agreed, kThreads);
}

}  // namespace
}  // namespace meniscus::plugin_tests
