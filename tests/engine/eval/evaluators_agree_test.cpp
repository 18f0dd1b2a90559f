// The columns and the tree walk give the same answer for every node of random programs on random
// orders: 64 orders at once against one at a time.
#include <gtest/gtest.h>

#include "engine/eval/columns.hpp"
#include "tests/engine/eval/cells.hpp"
#include "tests/engine/eval/random_program.hpp"

namespace meniscus::engine {
namespace {

using testing::state_at;
using testing::truth_at;

class EvaluatorsAgree : public ::testing::TestWithParam<std::uint32_t> {};

TEST_P(EvaluatorsAgree, OnEveryNodeAndLane) {
  testing::RandomProgram random(GetParam());
  const Program& program = random.program();
  OrderBlock block;
  random.fill(block);
  std::array<OrderFacts, kLanes> facts;
  for (unsigned lane = 0; lane < kLanes; ++lane) {
    facts.at(lane).block = &block;
    facts.at(lane).lane = lane;
    facts.at(lane).today = Value::date({.seconds = 86400});
    facts.at(lane).planned_day = facts.at(lane).today;
  }
  Scalar for_columns(program);
  Columns columns(program, for_columns);
  columns.begin(block, facts);
  Scalar alone(program);
  std::size_t compared = 0;
  for (unsigned lane = 0; lane < kLanes; ++lane) {
    alone.begin(facts.at(lane));
    for (NodeId id = 0; id < program.nodes.size(); ++id) {
      const Node& node = program.nodes[id];
      if (node.scoped) continue;
      ++compared;
      if (node.type == Type::Truth) {
        // Ask for few lanes first, so that columns are also filled piece by piece.
        columns.truth(id, Lanes{0x5555} << (lane % 8));
        ASSERT_EQ(truth_at(columns.truth(id, Lanes{1} << lane), lane), alone.truth(id))
            << "node " << id << " lane " << lane << " seed " << GetParam() << "\n"
            << print(program);
        continue;
      }
      const ValueView view = columns.value(id, Lanes{1} << lane);
      const Value expected = alone.value(id);
      ASSERT_EQ(state_at(view, lane), expected.state)
          << "node " << id << " lane " << lane << " seed " << GetParam() << "\n"
          << print(program);
      if (!expected.known()) continue;
      ASSERT_DOUBLE_EQ(view.number[lane], expected.number) << "node " << id;
      if (node.type == Type::Word || node.varies) {
        ASSERT_EQ(view.aux[lane], expected.aux);
      }
    }
  }
  EXPECT_GT(compared, 64U * 100U);
}

INSTANTIATE_TEST_SUITE_P(Seeds, EvaluatorsAgree, ::testing::Range(1U, 61U));

}  // namespace
}  // namespace meniscus::engine
