// Masks of lanes: what is asked of lanes is asked of those in the mask and of no others.
#include "engine/eval/lanes.hpp"

#include <gtest/gtest.h>

namespace meniscus::engine {
namespace {

TEST(Select, AsksNoLaneOutsideTheMask) {
  // Few and most of the lanes.
  for (const Lanes mask : {Lanes{0}, Lanes{0b1010}, ~Lanes{0} >> 8U, ~Lanes{0} << 20U}) {
    Lanes asked = 0;
    const Lanes odd = select(mask, [&](unsigned lane) {
      asked |= Lanes{1} << lane;
      return lane % 2 == 1;
    });
    EXPECT_EQ(asked, mask);
    EXPECT_EQ(odd, mask & 0xAAAAAAAAAAAAAAAAU);
  }
}

}  // namespace
}  // namespace meniscus::engine
