// Look-ups in tables and patterns in texts cost a hundred times a comparison; those of the shipped
// rules, whether by the order or by a record, are remembered by what they read.
#include <gtest/gtest.h>

#include "engine/eval/recall.hpp"
#include "tests/rules/judging.hpp"

namespace meniscus::rules_tests {
namespace {

using engine::Node;
using engine::NodeId;
using engine::Op;

bool looks_up(const Node& node) {
  return node.op == Op::LookUp || node.op == Op::LookUpEvery || node.op == Op::AnyRow;
}

std::string about(const engine::Program& program, const Node& node) {
  if (looks_up(node)) return program.tables[program.lookups[node.a].table].name;
  return node.op == Op::Matches ? "matches" : "contains";
}

TEST(ShippedRules, SearchesAreRemembered) {
  const auto program = shipped_program();
  std::size_t seen = 0;
  std::size_t by_records = 0;
  for (NodeId id = 0; id < program->nodes.size(); ++id) {
    const Node& node = program->nodes[id];
    const bool searches = looks_up(node) || node.op == Op::Matches || node.op == Op::Contains;
    if (!searches || node.scoped) continue;
    if (node.history && !looks_up(node)) continue;  // a text of a record is seldom asked for
    ++seen;
    if (node.history) ++by_records;
    EXPECT_TRUE(engine::recall_inputs(*program, id).has_value())
        << "n" << id << " " << about(*program, node);
  }
  EXPECT_GT(seen, 100U);
  EXPECT_GT(by_records, 0U);
}

}  // namespace
}  // namespace meniscus::rules_tests
