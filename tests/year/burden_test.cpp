// The targets for the alert burden of the shipped rules, on a smaller year than
// docs/alert-burden.md.
//
// Source of the targets: a rule that speaks on one right order in twenty is soon not read (common
// practice; published reviews of medication alerts report that most are overridden).
#include <gtest/gtest.h>

#include <algorithm>

#include "adapters/rules/rule_files.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "tests/year/burden.hpp"

namespace meniscus::year {
namespace {

std::shared_ptr<const engine::Program> shipped_program() {
  static const adapters::LoadedRules kLoaded =
      adapters::load_rules({MENISCUS_SOURCE_DIR "/rules"}, adapters::re2_patterns());
  return kLoaded.program;
}

Burden measured(Form form, std::uint64_t seed, bool profile = true) {
  YearOptions options;
  options.orders = 12000;
  options.seed = seed;
  options.defects_per_thousand = 250;
  options.form = form;
  return measure(shipped_program(), options, profile);
}

std::string remarks(const Burden& burden) {
  std::string text;
  for (const std::string& remark : burden.remarks)
    text += remark + '\n';
  return text;
}

class RichYear : public ::testing::TestWithParam<std::uint64_t> {
 protected:
  void SetUp() override {
    ASSERT_NE(shipped_program(), nullptr);
    burden_ = measured(Form::Rich, GetParam());
  }
  Burden burden_;
};

TEST_P(RichYear, FindsEveryKindOfDefectAndTroublesFewRightOrders) {
  ASSERT_GT(burden_.sound, 3000U);
  for (std::size_t i = 0; i < burden_.defects.size(); ++i) {
    const DefectCount& count = burden_.defects[i];
    EXPECT_GE(count.found * 100, count.injected * 99) << defect(i).name << '\n' << remarks(burden_);
  }
  EXPECT_LE(burden_.grave() * 200, burden_.sound) << remarks(burden_);
  EXPECT_LE(burden_.above_note() * 20, burden_.sound) << remarks(burden_);
  EXPECT_GE(burden_.one_group() * 100, burden_.injected() * 99) << remarks(burden_);
}

TEST_P(RichYear, InjectsEveryKindOfDefect) {
  for (std::size_t i = 0; i < burden_.defects.size(); ++i)
    EXPECT_GT(burden_.defects[i].injected, 0U) << defect(i).name;
}

INSTANTIATE_TEST_SUITE_P(Seeds, RichYear, ::testing::Values(1, 2));

TEST(SparseYear, HoldsNoRightOrderAndSaysLittleOfWhatIsMissing) {
  ASSERT_NE(shipped_program(), nullptr);
  const Burden burden = measured(Form::Sparse, 1);
  ASSERT_GT(burden.sound, 3000U);
  EXPECT_EQ(burden.of(engine::Outcome::Hold), 0U) << remarks(burden);
  EXPECT_LE(burden.grave() * 200, burden.sound) << remarks(burden);
  EXPECT_LE(burden.most_lines, 4U) << remarks(burden);
  EXPECT_FALSE(burden.never.empty()) << "what the feed never carries is said";
}

TEST(SparseYear, IsNoTroubleWithoutAProfileEither) {
  ASSERT_NE(shipped_program(), nullptr);
  const Burden burden = measured(Form::Sparse, 2, false);
  EXPECT_EQ(burden.of(engine::Outcome::Hold), 0U) << remarks(burden);
  EXPECT_LE(burden.most_lines, 4U);
  EXPECT_GT(burden.lines, 0U) << "what is missing is said on the order";
}

// The measurement can fail: with the shared definitions and no rule, only what the readers
// themselves find is found.
TEST(Burden, FindsNothingWithoutRules) {
  const adapters::LoadedRules loaded =
      adapters::load_rules({MENISCUS_SOURCE_DIR "/rules/00-common.rule"}, adapters::re2_patterns());
  ASSERT_NE(loaded.program, nullptr);
  YearOptions options;
  options.orders = 2000;
  const Burden burden = measure(loaded.program, options);
  EXPECT_EQ(burden.grave(), 0U) << remarks(burden);
  for (std::size_t i = 0; i < burden.defects.size(); ++i) {
    const DefectCount& count = burden.defects[i];
    EXPECT_EQ(count.found, defect(i).rules == "doubtful-value" ? count.injected : 0U)
        << defect(i).name;
  }
}

}  // namespace
}  // namespace meniscus::year
