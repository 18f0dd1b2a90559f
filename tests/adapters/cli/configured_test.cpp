// The command line over the environment over meniscus.json.
#include "adapters/cli/configured.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>
#include <string>
#include <vector>

namespace meniscus::adapters {
namespace {
using ::testing::HasSubstr;
using Variables = std::map<std::string, std::string>;

engine::Result<Arguments> parse(const std::vector<std::string>& words, const Variables& variables) {
  return parse_configured(words, {{}, [&variables](const std::string& name) {
                                    const auto found = variables.find(name);
                                    return found == variables.end() ? "" : found->second;
                                  }});
}

TEST(Configured, FlagStandsOverTheEnvironment) {
  const Variables variables = {{"MENISCUS_FAIL_AT", "hold"}, {"MENISCUS_TO", "lines"}};
  const auto got = parse({"check", "a.csv", "--fail-at", "note"}, variables);
  ASSERT_TRUE(got) << got.error().message;
  EXPECT_EQ(got->fail_at, engine::Outcome::Note);
  EXPECT_EQ(got->to, ToFormat::Lines);
  EXPECT_EQ(got->files, std::vector<std::string>{"a.csv"});
  const auto other = parse({"check", "a.csv", "--to=sarif"}, variables);
  ASSERT_TRUE(other) << other.error().message;
  EXPECT_EQ(other->to, ToFormat::Sarif);
  EXPECT_EQ(other->fail_at, engine::Outcome::Hold);
}

TEST(Configured, NothingIsTakenForAnswersOrWhenAskedNotTo) {
  const Variables variables = {{"MENISCUS_FAIL_AT", "hold"}};
  const auto hl7 = parse({"check", "a.hl7", "--to", "hl7", "--on-hold", "ua"}, variables);
  ASSERT_TRUE(hl7) << hl7.error().message;
  EXPECT_EQ(hl7->fail_at, engine::Outcome::Incomplete);
  const auto fhir = parse({"check", "a.json", "--to", "fhir"}, variables);
  ASSERT_TRUE(fhir) << fhir.error().message;
  EXPECT_EQ(fhir->fail_at, engine::Outcome::Incomplete);
  const auto alone = parse({"check", "a.csv", "--no-config"}, variables);
  ASSERT_TRUE(alone) << alone.error().message;
  EXPECT_EQ(alone->fail_at, engine::Outcome::Incomplete);
}

TEST(Configured, OtherCommandsTakeNothing) {
  const Variables variables = {{"MENISCUS_FAIL_AT", "nonsense"}};
  EXPECT_TRUE(parse({"serve", "--on-hold", "ua"}, variables));
  EXPECT_TRUE(parse({"rules", "lint", "a.rule"}, variables));
}

TEST(Configured, BaselineIsPassedOverWhereTheReportTakesNone) {
  const Variables variables = {{"MENISCUS_BASELINE", "known.jsonl"}};
  const auto text = parse({"check", "a.csv"}, variables);
  ASSERT_TRUE(text) << text.error().message;
  EXPECT_EQ(text->baseline, "");
  const auto lines = parse({"check", "a.csv", "--to", "lines"}, variables);
  ASSERT_TRUE(lines) << lines.error().message;
  EXPECT_EQ(lines->baseline, "known.jsonl");
}

TEST(Configured, MistakesNameWhereTheyComeFrom) {
  const auto grade = parse({"check", "a.csv"}, {{"MENISCUS_FAIL_AT", "red"}});
  ASSERT_FALSE(grade);
  EXPECT_THAT(grade.error().message,
              HasSubstr("MENISCUS_FAIL_AT: --fail-at cannot be `red`; write one of note"));
  for (const char* to : {"hl7", "fhir"}) {
    const auto answers = parse({"check", "a.csv"}, {{"MENISCUS_TO", to}});
    ASSERT_FALSE(answers);
    EXPECT_THAT(answers.error().message, HasSubstr("MENISCUS_TO: "));
  }
}

TEST(Configured, ConfigShowsWhereEachComesFrom) {
  const auto got = parse({"config", "--fail-at=clarify", "--no-slips", "--rules", "a.rule"},
                         {{"MENISCUS_LOG", "info"}});
  ASSERT_TRUE(got) << got.error().message;
  EXPECT_EQ(got->command, Command::Config);
  std::map<std::string, std::string> shown;
  for (const SettingShown& setting : got->settings)
    shown[setting.name] = setting.value + " from " + setting.from;
  EXPECT_EQ(shown.size(), settings().size());
  EXPECT_EQ(shown["fail-at"], "clarify from the command line");
  EXPECT_EQ(shown["slips"], "no from the command line");
  EXPECT_EQ(shown["rules"], "a.rule from the command line");
  EXPECT_EQ(shown["log"], "info from MENISCUS_LOG");
  EXPECT_EQ(shown["from"], "auto from default");
}

}  // namespace
}  // namespace meniscus::adapters
