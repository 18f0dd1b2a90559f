// The shipped rules as a program for judging only.
#include "adapters/rules/rule_files.hpp"

#include <gtest/gtest.h>

#include <string>

#include "adapters/text/re2_pattern.hpp"

namespace meniscus::adapters {
namespace {

TEST(RuleFiles, AProgramWithoutExamplesJudgesAsTheOneWithThem) {
  const std::string rules = std::string(MENISCUS_SOURCE_DIR) + "/rules";
  LoadOptions judging;
  judging.examples = false;
  const LoadedRules some = load_rules({rules}, re2_patterns(), judging);
  const LoadedRules all = load_rules({rules}, re2_patterns());
  ASSERT_NE(some.program, nullptr);
  ASSERT_NE(all.program, nullptr);
  EXPECT_TRUE(some.program->examples.empty());
  EXPECT_GT(all.program->examples.size(), 500U);
  EXPECT_EQ(some.program->hash, all.program->hash);
  EXPECT_EQ(engine::print(*some.program), engine::print(*all.program));
}

}  // namespace
}  // namespace meniscus::adapters
