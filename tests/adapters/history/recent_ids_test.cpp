// Ids that came are always known; few others are taken for them.
//
// Source: the share of ids taken for known ones by mistake, (1 - e^(-kn/m))^k with k looks, n ids
// and m bits: B. H. Bloom, Space/time trade-offs in hash coding with allowable errors, CACM 13(7),
// 1970; the closed form is the usual one of textbooks (from memory): 0.24 % for k 4, m/n 16.
#include "adapters/history/recent_ids.hpp"

#include <gtest/gtest.h>

#include <string>

#include "engine/order/field_text.hpp"

namespace meniscus::adapters {
namespace {

std::uint64_t id(std::size_t number) { return engine::id_hash("M-" + std::to_string(number)); }

/// Shares of numbers in [from, to) that may have come.
double known(const RecentIds& ids, std::size_t from, std::size_t to) {
  std::size_t count = 0;
  for (std::size_t number = from; number < to; ++number)
    count += ids.may_have(id(number)) ? 1U : 0U;
  return static_cast<double>(count) / static_cast<double>(to - from);
}

TEST(RecentIds, KnowAllThatCameAndFewOthers) {
  RecentIds ids;
  EXPECT_EQ(known(ids, 0, 1000), 0);
  for (std::size_t number = 0; number < RecentIds::kFull; ++number)
    ids.add(id(number), 0);
  EXPECT_EQ(known(ids, 0, RecentIds::kFull), 1);
  EXPECT_LT(known(ids, RecentIds::kFull, 2 * RecentIds::kFull), 0.003);
  EXPECT_EQ(ids.bytes(), std::size_t{1} << 20U);
}

TEST(RecentIds, ForgetWhatIsTooOldAndNothingElse) {
  RecentIds ids;
  for (std::size_t number = 0; number < 2 * RecentIds::kFull; ++number)
    ids.add(id(number), static_cast<double>(number));
  ids.drop(static_cast<double>(RecentIds::kFull));
  EXPECT_LT(known(ids, 0, RecentIds::kFull), 0.003);
  EXPECT_EQ(known(ids, RecentIds::kFull, 2 * RecentIds::kFull), 1);
  ids.drop(static_cast<double>(2 * RecentIds::kFull - 1));
  EXPECT_EQ(known(ids, RecentIds::kFull, 2 * RecentIds::kFull), 1) << "one of them is young enough";
  ids.drop(static_cast<double>(2 * RecentIds::kFull));
  EXPECT_EQ(ids.bytes(), 0U);
}

TEST(RecentIds, TakeSoMuchMemoryAndNoMore) {
  RecentIds ids;
  constexpr std::size_t kMany = 5'000'000;
  for (std::size_t number = 0; number < kMany; ++number)
    ids.add(number * 0x9E3779B97F4A7C15, 0);
  EXPECT_EQ(ids.bytes(), RecentIds::kMost << 20U);
  for (std::size_t number = 0; number < kMany; number += 7)
    ASSERT_TRUE(ids.may_have(number * 0x9E3779B97F4A7C15));
}

}  // namespace
}  // namespace meniscus::adapters
