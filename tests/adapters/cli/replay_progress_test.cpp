// What is shown of a replay that goes on.
#include "adapters/cli/replay_progress.hpp"

#include <gtest/gtest.h>

namespace meniscus::adapters {
namespace {

TEST(ReplayProgress, SaysRateAndTimeLeft) {
  EXPECT_EQ(replay_line({1'200'000, 4.0, 0.4}, false),
            "1,200,000 orders, 300,000 a second, 40 %, about 6 s left");
  EXPECT_EQ(replay_line({1'200'000, 60.0, 0.25}, true),
            "1,200,000 orders sorted, 20,000 a second, 25 %, about 3 min left");
}

TEST(ReplayProgress, SaysNoTimeLeftThatItDoesNotKnow) {
  EXPECT_EQ(replay_line({5000, 2.0, 0}, false), "5,000 orders, 2,500 a second");
  EXPECT_EQ(replay_line({0, 0, 0}, false), "0 orders");
  EXPECT_EQ(replay_line({5000, 2.0, 0.001}, false), "5,000 orders, 2,500 a second")
      << "too little is done to tell";
}

}  // namespace
}  // namespace meniscus::adapters
