// meniscus.json and the environment: what is read, what is refused and where, which file holds.
//
// Checked against: docs/data-check.md and docs/schemas/check-config.schema.json; the schema's keys
// are compared with the program's in tests/hygiene/check_schemas.py.
#include "adapters/config/settings.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <string>

namespace meniscus::adapters {
namespace {
using ::testing::ElementsAre;
using ::testing::HasSubstr;
namespace fs = std::filesystem;

TEST(Config, SettingsHaveTheirPlaces) {
  const ReadConfig read = read_config(
      "{\"_why\": 1, \"$schema\": \"x\",\n  \"fail-at\": \"clarify\", \"slips\": false,\n"
      "  \"rules\": [\"ours.rule\", \"/abs/a.rule\"], \"baseline\": \"../known.jsonl\"}",
      "../meniscus.json", "..");
  ASSERT_TRUE(read.problems.empty());
  EXPECT_EQ(read.given.size(), 4U);
  EXPECT_THAT(read.given.at("fail-at").values, ElementsAre("clarify"));
  EXPECT_EQ(read.given.at("fail-at").from, "../meniscus.json:2:14");
  EXPECT_THAT(read.given.at("slips").values, ElementsAre("no"));
  EXPECT_THAT(read.given.at("rules").values, ElementsAre("../ours.rule", "/abs/a.rule"));
  EXPECT_THAT(read.given.at("baseline").values, ElementsAre("../../known.jsonl"));
}

struct Mistake {
  std::string_view name, text, message;
  std::uint64_t line, column;
};
std::ostream& operator<<(std::ostream& os, const Mistake& mistake) { return os << mistake.name; }
class ConfigMistakes : public ::testing::TestWithParam<Mistake> {};
TEST_P(ConfigMistakes, AreSaidWithLineAndColumn) {
  const ReadConfig read = read_config(GetParam().text, "meniscus.json", "");
  ASSERT_EQ(read.problems.size(), 1U);
  EXPECT_THAT(read.problems[0].message, HasSubstr(std::string(GetParam().message)));
  EXPECT_EQ(read.problems[0].line, GetParam().line);
  EXPECT_EQ(read.problems[0].column, GetParam().column);
  EXPECT_TRUE(read.given.empty());
}
const Mistake kMistakes[] = {
    {"NoJson", "{\n  \"to\": lines}", "this is no JSON", 2, 9},
    {"Empty", "", "this is no JSON", 1, 1},
    {"NoObject", "[]", "meniscus.json holds an object", 1, 1},
    {"UnknownKey", "{\n \"fail_at\": \"hold\"}", "unknown key `fail_at`; is `fail-at` meant?", 2,
     13},
    {"AskedFor", "{\"allow-mute-hold\": true}", "write it on the command line", 1, 21},
    {"History", "{\"history\": \"sqlite:a\"}", "write it on the command line", 1, 13},
    {"NoText", "{\"to\": 3}", "text in quotes is needed", 1, 8},
    {"EmptyText", "{\"profile\": \"\"}", "text in quotes is needed", 1, 13},
    {"NoYesNo", "{\"slips\": \"no\"}", "true or false is needed", 1, 11},
    {"NoList", "{\"rules\": \"a.rule\"}", "a list of texts", 1, 11},
    {"ListOfNumbers", "{\"rules\": [1]}", "a list of texts", 1, 11},
};
INSTANTIATE_TEST_SUITE_P(Keys, ConfigMistakes, ::testing::ValuesIn(kMistakes),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(Config, KeyTwiceIsRefused) {
  const ReadConfig read = read_config(R"({"to": "lines", "to": "sarif"})", "meniscus.json", "");
  ASSERT_EQ(read.problems.size(), 1U);
  EXPECT_THAT(read.problems[0].message, HasSubstr("`to` stands here twice"));
}

/// A folder of its own for each test.
class ConfigFiles : public ::testing::Test {
 protected:
  void SetUp() override {
    root = fs::path(::testing::TempDir()) /
           ("meniscus-config-" +
            std::string(::testing::UnitTest::GetInstance()->current_test_info()->name()));
    fs::remove_all(root);
    fs::create_directories(root / "work" / "deep");
  }
  void TearDown() override { fs::remove_all(root); }

  static void write(const fs::path& path, std::string_view text) {
    std::ofstream(path, std::ios::binary) << text;
  }
  [[nodiscard]] Surroundings in(const fs::path& folder) const {
    return {folder, [this](const std::string& name) {
              const auto found = variables.find(name);
              return found == variables.end() ? std::string() : found->second;
            }};
  }

  fs::path root;
  std::map<std::string, std::string> variables;
};

TEST_F(ConfigFiles, NearestAboveHoldsAndGitEndsTheSearch) {
  write(root / "meniscus.json", "{}");
  EXPECT_EQ(find_config(root / "work" / "deep"), root / "meniscus.json");
  write(root / "work" / "meniscus.json", "{}");
  EXPECT_EQ(find_config(root / "work" / "deep"), root / "work" / "meniscus.json");
  fs::create_directory(root / "work" / "deep" / ".git");
  EXPECT_EQ(find_config(root / "work" / "deep"), std::nullopt);
  write(root / "work" / "deep" / "meniscus.json", "{}");
  EXPECT_EQ(find_config(root / "work" / "deep"), root / "work" / "deep" / "meniscus.json");
}

TEST_F(ConfigFiles, EnvironmentStandsOverTheFile) {
  write(root / "work" / "meniscus.json",
        R"({"fail-at": "hold", "to": "lines", "only-rules": true, "profile": "feed.json"})");
  fs::create_directory(root / "work" / ".git");
  variables = {{"MENISCUS_FAIL_AT", "caution"}, {"MENISCUS_ONLY_RULES", "no"}};
  const auto given = outer_settings(in(root / "work" / "deep"));
  ASSERT_TRUE(given) << given.error().message;
  EXPECT_THAT(given->at("fail-at").values, ElementsAre("caution"));
  EXPECT_EQ(given->at("fail-at").from, "MENISCUS_FAIL_AT");
  EXPECT_THAT(given->at("only-rules").values, ElementsAre("no"));
  EXPECT_EQ(given->at("to").from, "../meniscus.json:1:27");
  EXPECT_THAT(given->at("profile").values, ElementsAre("../feed.json"));
}

TEST_F(ConfigFiles, AllMistakesAreSaidAtOnce) {
  write(root / "work" / "meniscus.json", "{\"a-b\": 1,\n\"to\": 2}");
  variables = {{"MENISCUS_SLIPS", "perhaps"}};
  const auto given = outer_settings(in(root / "work"));
  ASSERT_FALSE(given);
  EXPECT_EQ(given.error().message,
            "meniscus.json:1:9: error: unknown key `a-b` (/a-b)\n"
            "meniscus.json:2:7: error: text in quotes is needed (/to)\n"
            "MENISCUS_SLIPS is neither yes nor no");
}

}  // namespace
}  // namespace meniscus::adapters
