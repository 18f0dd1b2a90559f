// The hash table against the standard library's, over the same random steps.
#include "engine/base/flat_map.hpp"

#include <gtest/gtest.h>

#include <random>
#include <unordered_map>

namespace meniscus::engine {
namespace {

TEST(FlatMap, SaysWhatAStandardMapSays) {
  std::mt19937_64 random(7);  // NOLINT(*-msc51-cpp,*-msc32-c): the same steps each time
  FlatMap<int> ours;
  std::unordered_map<std::uint64_t, int> theirs;
  for (int step = 0; step < 200'000; ++step) {
    const std::uint64_t key = random() % 300 + 1;  // few keys: they meet and push one another on
    if (random() % 3 == 0) {
      ours.erase(key);
      theirs.erase(key);
    } else {
      ours.find_or_add(key) = step;
      theirs[key] = step;
    }
    ASSERT_EQ(ours.size(), theirs.size());
    const std::uint64_t asked = random() % 300 + 1;
    const auto found = theirs.find(asked);
    const int* const value = ours.find(asked);
    ASSERT_EQ(value != nullptr, found != theirs.end());
    if (value != nullptr) {
      ASSERT_EQ(*value, found->second);
    }
  }
  std::size_t seen = 0;
  ours.for_each([&](std::uint64_t key, int value) {
    ++seen;
    EXPECT_EQ(theirs.at(key), value);
  });
  EXPECT_EQ(seen, theirs.size());
}

}  // namespace
}  // namespace meniscus::engine
