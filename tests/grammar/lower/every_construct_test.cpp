// The fixture that uses every construct of the language compiles, quickly, and keeps its shape.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <sstream>

#include "tests/grammar/lower/rule_text.hpp"

namespace meniscus::grammar::testing {
namespace {

engine::Result<std::string> read_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in) return engine::Error{engine::Errc::Input, "no such file", 0, 0};
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

Compiled compile_fixture() {
  const std::string folder = MENISCUS_SOURCE_DIR "/tests/fixtures/rules/";
  CompileOptions options = options_with({});
  options.read_file = read_file;
  options.rules_day = 20514;  // 2026-03-02
  std::vector<RuleSource> sources;
  for (const char* name : {"every-construct.rule", "every-change.rule"})
    sources.push_back({folder + name, read_file(folder + name).value_or("")});
  return compile(sources, options);
}

class EveryConstruct : public ::testing::Test {
 protected:
  static void SetUpTestSuite() { compiled_ = compile_fixture(); }
  static Compiled compiled_;
};
Compiled EveryConstruct::compiled_;

TEST_F(EveryConstruct, CompilesWithoutAnError) {
  for (const engine::Diagnostic& d : compiled_.diagnostics)
    ADD_FAILURE() << engine::render(d);
  ASSERT_NE(compiled_.program, nullptr);
  EXPECT_EQ(compiled_.program->rules.size(), 45U);
  EXPECT_EQ(compiled_.program->tables.size(), 14U);
  EXPECT_EQ(compiled_.program->settings.size(), 13U);
  EXPECT_EQ(compiled_.program->examples.size(), 2U);
}

TEST_F(EveryConstruct, EveryKindOfChangeIsInForce) {
  ASSERT_NE(compiled_.program, nullptr);
  const engine::Program& program = *compiled_.program;
  std::vector<std::string> changes;
  for (const engine::LocalChange& change : program.changes)
    changes.push_back(change.what + (change.over ? " (over)" : ""));
  EXPECT_THAT(changes,
              ::testing::ElementsAre("adjust sc-volume-limit = 2 mL (shipped: 1.5 mL)",
                                     "regrade needle-force from clarify to note",
                                     "mute site-rest where substance.code is insulin-glargine",
                                     "extend table substances from \"our-products.csv\" (1 row)",
                                     "retire frequency-clear", "trial rule large-dose"));
  ASSERT_EQ(program.aside.size(), 1U);
  EXPECT_EQ(program.aside[0].name, "frequency-clear");
}

TEST_F(EveryConstruct, ChildrenStandBeforeTheirParents) {
  ASSERT_NE(compiled_.program, nullptr);
  const auto& nodes = compiled_.program->nodes;
  for (engine::NodeId id = 0; id < nodes.size(); ++id) {
    for (const engine::NodeId child : {nodes[id].x, nodes[id].y, nodes[id].z}) {
      if (child == engine::kNoNode) continue;
      EXPECT_LT(child, id);
    }
  }
}

TEST_F(EveryConstruct, EveryClauseHasAConditionAndAText) {
  ASSERT_NE(compiled_.program, nullptr);
  for (const engine::Rule& rule : compiled_.program->rules) {
    EXPECT_FALSE(rule.clauses.empty()) << rule.name;
    for (const engine::Clause& clause : rule.clauses) {
      ASSERT_NE(clause.when, engine::kNoNode) << rule.name;
      EXPECT_EQ(compiled_.program->nodes[clause.when].type, engine::Type::Truth) << rule.name;
      EXPECT_FALSE(clause.say.empty()) << rule.name;
      EXPECT_FALSE(clause.blames.empty()) << rule.name;
    }
  }
}

TEST_F(EveryConstruct, RulesThatLookBackSaySo) {
  ASSERT_NE(compiled_.program, nullptr);
  std::vector<std::string> names;
  for (const engine::Rule& rule : compiled_.program->rules) {
    if (rule.history) names.push_back(rule.name);
  }
  EXPECT_THAT(names, ::testing::UnorderedElementsAre("site-rest", "interval", "one-active-order",
                                                     "catch-up", "weekly-dose", "own-history",
                                                     "sharps", "weight-plausible"));
}

TEST_F(EveryConstruct, EveryLookUpByCodeHasItsKey) {
  ASSERT_NE(compiled_.program, nullptr);
  const engine::Program& program = *compiled_.program;
  for (const engine::LookUp& lookup : program.lookups) {
    const engine::Table& table = program.tables[lookup.table];
    if (table.name != "substances") continue;
    EXPECT_TRUE(lookup.key) << "no key into substances";
  }
}

TEST_F(EveryConstruct, CompilesTheSameTwice) {
  const Compiled again = compile_fixture();
  ASSERT_NE(again.program, nullptr);
  ASSERT_NE(compiled_.program, nullptr);
  EXPECT_EQ(again.program->hash, compiled_.program->hash);
  EXPECT_EQ(engine::print(*again.program), engine::print(*compiled_.program));
}

}  // namespace
}  // namespace meniscus::grammar::testing
