// Out of memory at every allocation in turn: each call fails with its status or does all of its
// work, nothing escapes, and a checker whose history may be damaged checks nothing any more.
#include <gtest/gtest.h>

#include <atomic>
#include <cstdlib>
#include <new>

#include "tests/adapters/plugin/plugin_host.hpp"

// The sanitizers have an operator of their own.
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)

namespace {
constexpr long kNever = -1;
std::atomic<long> allocations_left{kNever};  // NOLINT(*-non-const-global-variables): the operator's
}  // namespace

// Not inlined: g++ 12 takes the parts of inlined ones for a mismatch (-Wmismatched-new-delete).
// NOLINTBEGIN(cppcoreguidelines-no-malloc)
[[gnu::noinline]] void* operator new(std::size_t size) {
  if (allocations_left.load(std::memory_order_relaxed) != kNever &&
      allocations_left.fetch_sub(1, std::memory_order_relaxed) <= 0) {
    allocations_left = 0;
    throw std::bad_alloc();
  }
  if (void* p = std::malloc(size == 0 ? 1 : size)) return p;
  throw std::bad_alloc();
}
[[gnu::noinline]] void operator delete(void* p) noexcept { std::free(p); }
[[gnu::noinline]] void operator delete(void* p, std::size_t /*size*/) noexcept { std::free(p); }
// NOLINTEND(cppcoreguidelines-no-malloc)

namespace meniscus::plugin_tests {
namespace {

/// Runs `work` with room for `count` allocations.
template <class Work>
MeniscusStatus with_allocations(long count, const Work& work) {
  allocations_left = count;
  const MeniscusStatus status = work();
  allocations_left = kNever;
  return status;
}

constexpr long kMost = 200'000;

/// Fails the first, the second ... allocation until the work is done; `failed` looks at each time
/// that it was not.
template <class Work, class Failed>
void fail_each(const Work& work, const Failed& failed, long step = 1) {
  long count = 0;
  for (; count < kMost; count += step) {
    const MeniscusStatus status = with_allocations(count, work);
    if (status == MENISCUS_OK) break;
    ASSERT_EQ(status, MENISCUS_OUT_OF_MEMORY) << "at allocation " << count;
    failed();
  }
  EXPECT_GT(count, 0) << "nothing was allocated: is the operator used by the library?";
  EXPECT_LT(count, kMost);
}

class OutOfMemory : public ::testing::Test {
 public:
  const Folder folder;
  const Settings wanted = settings({{"only-rules", "yes"},
                                    {"rules", folder.write("rest.rule", kRest)},
                                    {"history", "input"},
                                    {"on-hold", "ua"}});
};

TEST_F(OutOfMemory, LoadingRules) {
  MeniscusRules* rules = nullptr;
  // The parser's runtime keeps caches of its own: they are warm before.
  load(wanted.get());
  fail_each([&] { return meniscus_rules_load(wanted.get(), &rules); },
            [&] {
              ASSERT_EQ(rules, nullptr);
              ASSERT_STREQ(meniscus_settings_error(wanted.get()),
                           meniscus_status_text(MENISCUS_OUT_OF_MEMORY));
            },
            7);
  ASSERT_NE(rules, nullptr);
  EXPECT_STREQ(meniscus_settings_error(wanted.get()), "");
  meniscus_rules_free(rules);
}

TEST_F(OutOfMemory, MakingAChecker) {
  const Rules rules = load(wanted.get());
  MeniscusChecker* checker = nullptr;
  fail_each([&] { return meniscus_checker_new(rules.get(), wanted.get(), &checker); },
            [&] { ASSERT_EQ(checker, nullptr); });
  meniscus_checker_free(checker);
}

TEST_F(OutOfMemory, CheckingLeavesAWholeCheckerOrAnUnusableOne) {
  const Rules rules = load(wanted.get());
  const std::string text = order("A-1", "2026-03-02") + order("A-2", "2026-03-05");
  long unusable = 0;
  for (long count = 0;; ++count) {
    ASSERT_LT(count, kMost);
    const Checker checker = make_checker(rules, wanted);
    MeniscusVerdicts* verdicts = nullptr;
    const auto work = [&] {
      return meniscus_check(checker.get(), MENISCUS_AUTO, text.data(), text.size(), &verdicts);
    };
    const MeniscusStatus status = with_allocations(count, work);
    if (status == MENISCUS_OK) {
      EXPECT_EQ(outcomes(Verdicts(verdicts)), "clear clarify");
      break;
    }
    ASSERT_EQ(status, MENISCUS_OUT_OF_MEMORY);
    ASSERT_EQ(verdicts, nullptr);
    const MeniscusStatus again = work();
    if (again == MENISCUS_UNUSABLE) {
      ++unusable;
      continue;
    }
    ASSERT_EQ(again, MENISCUS_OK);
    ASSERT_EQ(outcomes(Verdicts(verdicts)), "clear clarify") << "after failure " << count;
  }
  EXPECT_GT(unusable, 0);
}

TEST_F(OutOfMemory, WithTheHostsHistoryACheckerIsAlwaysWhole) {
  const auto gives = [](void*, const char*, std::size_t, MeniscusWriter* writer) -> int {
    const std::string lines = order("A-0", "2026-02-27");
    return meniscus_write(writer, lines.data(), lines.size()) == MENISCUS_OK ? 0 : 1;
  };
  ASSERT_EQ(meniscus_settings_set_history(wanted.get(), gives, nullptr), MENISCUS_OK);
  const Rules rules = load(wanted.get());
  const Checker checker = make_checker(rules, wanted);
  const std::string text = order("A-1", "2026-03-02");
  for (long count = 0; count < kMost; ++count) {
    MeniscusVerdicts* verdicts = nullptr;
    const MeniscusStatus status = with_allocations(count, [&] {
      return meniscus_check(checker.get(), MENISCUS_AUTO, text.data(), text.size(), &verdicts);
    });
    if (status != MENISCUS_OK) {
      ASSERT_EQ(status, MENISCUS_OUT_OF_MEMORY);
      ASSERT_EQ(verdicts, nullptr);
      continue;
    }
    const std::string said = outcomes(Verdicts(verdicts));
    // The host's own memory may be what ran out: then the order is held.
    ASSERT_TRUE(said == "clarify" || said == "hold") << said;
    if (said == "clarify") return;
  }
  FAIL() << "it never came through";
}

}  // namespace
}  // namespace meniscus::plugin_tests

#endif
