// Questions to history within rules: conditions that a record alone settles, words that are
// missing, and a question within the condition of another.
//
// Checked against sums done by hand, by both evaluators.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "tests/rules/judging.hpp"

namespace meniscus::rules_tests {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;

/// A rule that says what `query` comes to for every order.
std::shared_ptr<const engine::Program> program_of(const std::string& query) {
  // Tests run beside one another, each in a process of its own.
  const fs::path folder =
      fs::path(::testing::TempDir()) / ("queries_test_" + std::to_string(::getpid()));
  fs::create_directories(folder);
  std::ofstream(folder / "asked.rule") << "rule asked \"What was asked\"\n"
                                          "    concerns all orders\n"
                                          "    let found = "
                                       << query
                                       << "\n"
                                          "    raise note when found is given\n"
                                          "        say \"Found {found}.\"\n"
                                          "        blames dose\n"
                                          "    without dose, site, substance.code ignore\n"
                                          "    cite \"common practice\"\n"
                                          "    owner \"tests\" reviewed 2026-05-01 review by "
                                          "2027-05-01\n";
  const adapters::LoadedRules loaded =
      adapters::load_rules({folder.string()}, adapters::re2_patterns());
  fs::remove_all(folder);
  return loaded.program;
}

std::string order(const std::string& id, const std::string& day, const std::string& more) {
  return R"({"order":{"id":")" + id + R"("},"patient":{"id":"SM-0001"},"schedule":{"start":")" +
         day + "\"}," + more + "}\n";
}

const std::string kOrders =
    order("A-1", "2026-03-02",
          R"("substance":{"code":"methotrexate"},"dose":"10 mg","site":"abdomen")") +
    order("A-2", "2026-03-09", R"("substance":{"code":"methotrexate"},"dose":"30 mg")") +
    order("A-3", "2026-03-16",
          R"("substance":{"code":"enoxaparin"},"dose":"50 mg","site":"thigh")") +
    order("A-4", "2026-03-23",
          R"("substance":{"code":"methotrexate"},"dose":"20 mg","site":"abdomen")");

struct Asked {
  std::string_view name;
  std::string_view query;
  std::string_view says;
};
class Queries : public ::testing::TestWithParam<Asked> {};
TEST_P(Queries, ComeToWhatIsCountedByHand) {
  const auto program = program_of(std::string(GetParam().query));
  ASSERT_NE(program, nullptr);
  for (const engine::Mode mode : {engine::Mode::Columns, engine::Mode::OneByOne}) {
    const Said said = judge_last(kOrders, mode, program);
    EXPECT_EQ(said.orders, 4U);
    EXPECT_THAT(said.text, HasSubstr("Found " + std::string(GetParam().says) + "."));
  }
}
INSTANTIATE_TEST_SUITE_P(
    Of, Queries,
    ::testing::Values(
        Asked{"All", "number of earlier injections", "3"},
        Asked{"SameWord",
              "number of earlier injections where earlier.substance.code is substance.code", "2"},
        Asked{"WordOnTheLeft",
              "number of earlier injections where substance.code is earlier.substance.code", "2"},
        Asked{"Given", "number of earlier injections where earlier.site is given", "2"},
        Asked{"Missing", "number of earlier injections where earlier.site is missing", "1"},
        Asked{"MissingAndSameWord",
              "number of earlier injections where earlier.site is missing and "
              "earlier.substance.code is substance.code",
              "1"},
        // No table of these rules knows the sites: whether they are the same is open for all.
        Asked{"OpenAndSettled",
              "number of earlier injections where earlier.site is site and earlier.site is missing "
              "and earlier.dose < 20 mg",
              "0"},
        Asked{"TwoTests",
              "number of earlier injections where earlier.substance.code is substance.code and "
              "earlier.site is given",
              "1"},
        Asked{"TestAndMore",
              "number of earlier injections where earlier.substance.code is substance.code and "
              "earlier.dose > 10 mg",
              "1"},
        Asked{"Total",
              "total dose of earlier injections where earlier.substance.code is substance.code",
              "40 mg"},
        Asked{"WithinWeeks", "total dose of earlier injections within 2 weeks", "80 mg"},
        Asked{"Nested",
              "total dose of earlier injections where earlier.dose is at least (median dose of "
              "earlier injections)",
              "80 mg"}),
    [](const auto& info) { return std::string(info.param.name); });

/// A word that is missing or that no table knows is no match and no mismatch.
TEST(Queries, AMissingWordLeavesTheCountOpen) {
  const auto program = program_of("number of earlier injections where earlier.site is site");
  ASSERT_NE(program, nullptr);
  for (const engine::Mode mode : {engine::Mode::Columns, engine::Mode::OneByOne}) {
    // A-2 has no site: whether it was the same one is not known.
    EXPECT_THAT(judge_last(kOrders, mode, program).text, ::testing::Not(HasSubstr("Found")));
  }
}

}  // namespace
}  // namespace meniscus::rules_tests
