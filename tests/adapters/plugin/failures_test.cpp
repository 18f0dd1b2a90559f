// What goes wrong is said with its place, and nothing is checked.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "tests/adapters/plugin/plugin_host.hpp"

namespace meniscus::plugin_tests {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;

class Failures : public ::testing::Test {
 public:
  Failures() : wanted(settings({{"only-rules", "yes"}, {"history", "input"}})) {}

  [[nodiscard]] MeniscusStatus set(const char* name, const std::string& value) const {
    return meniscus_settings_set(wanted.get(), name, value.c_str());
  }
  [[nodiscard]] std::string error() const { return meniscus_settings_error(wanted.get()); }
  [[nodiscard]] std::string problems() const { return meniscus_settings_problems(wanted.get()); }
  MeniscusStatus try_rules() {
    MeniscusRules* made = nullptr;
    const MeniscusStatus status = meniscus_rules_load(wanted.get(), &made);
    rules.reset(made);
    return status;
  }
  MeniscusStatus try_checker() {
    MeniscusChecker* made = nullptr;
    const MeniscusStatus status = meniscus_checker_new(rules.get(), wanted.get(), &made);
    checker.reset(made);
    return status;
  }
  void load_rest() {
    ASSERT_EQ(set("rules", folder.write("rest.rule", kRest)), MENISCUS_OK);
    ASSERT_EQ(try_rules(), MENISCUS_OK) << error();
  }

  const Folder folder;
  Settings wanted;
  Rules rules;
  Checker checker;
};

TEST_F(Failures, ASettingThatIsNoneNamesTheNearest) {
  EXPECT_EQ(set("rules-as-off", "2026-03-02"), MENISCUS_WRONG_SETTING);
  EXPECT_EQ(error(), "there is no setting `rules-as-off`; is `rules-as-of` meant?");
  EXPECT_EQ(
      problems(),
      R"([{"code":"setting","severity":"error","file":"","line":0,"column":0,)"
      R"("message":"there is no setting `rules-as-off`; is `rules-as-of` meant?","help":""}])");
  EXPECT_EQ(set("slips", "no"), MENISCUS_OK);
  EXPECT_THAT(error(), IsEmpty());
  EXPECT_EQ(problems(), "[]");
}

TEST_F(Failures, AValueThatASettingCannotHave) {
  const std::pair<const char*, const char*> wrong[] = {
      {"as-of", "2026-02-30"}, {"as-of", "2026-03"},       {"only-rules", "1"},
      {"history", "sqlite:"},  {"history", "history.db"},  {"on-hold", "aa"},
      {"fail-at", "clear"},    {"history-since", "today"}, {"slips", "YES"}};
  for (const auto& [name, value] : wrong) {
    EXPECT_EQ(set(name, value), MENISCUS_WRONG_SETTING) << name << value;
    EXPECT_THAT(error(), HasSubstr("; write ")) << name;
    EXPECT_EQ(set(name, ""), MENISCUS_OK) << "an empty value is the default again: " << name;
  }
}

TEST_F(Failures, RulesWithMistakesAreAllSaidWithTheirPlaces) {
  const std::string path = folder.write("wrong.rule",
                                        "rule a \"A\"\n"
                                        "    concerns all orders\n"
                                        "    raise hold when volume > 5 mg\n"
                                        "        say \"x\"\n"
                                        "        blames volume\n"
                                        "    raise hold when volumme > 5 mL\n"
                                        "        say \"x\"\n"
                                        "        blames volume\n");
  ASSERT_EQ(set("rules", path), MENISCUS_OK);
  EXPECT_EQ(try_rules(), MENISCUS_WRONG_RULES);
  EXPECT_EQ(rules, nullptr);
  EXPECT_THAT(error(), HasSubstr(path + ":3:"));
  EXPECT_THAT(error(), HasSubstr("error[R0"));
  EXPECT_THAT(problems(), HasSubstr(R"("file":")" + path + R"(","line":3,"column":)"));
  EXPECT_THAT(problems(), HasSubstr(R"("line":6,"column":21)"));
  EXPECT_THAT(problems(), HasSubstr("volumme"));
}

TEST_F(Failures, RulesThatAreNotThere) {
  ASSERT_EQ(set("rules", (folder / "nowhere")), MENISCUS_OK);
  EXPECT_EQ(try_rules(), MENISCUS_WRONG_RULES);
  EXPECT_THAT(error(), HasSubstr("nowhere"));
  ASSERT_EQ(set("only-rules", "no"), MENISCUS_OK);
  ASSERT_EQ(set("rules", ""), MENISCUS_OK);
  ASSERT_EQ(set("shipped-rules", (folder / "gone")), MENISCUS_OK);
  EXPECT_EQ(try_rules(), MENISCUS_WRONG_RULES);
  EXPECT_THAT(error(), HasSubstr("gone"));
}

TEST_F(Failures, AProfileWithMistakes) {
  load_rest();
  ASSERT_EQ(set("profile",
                folder.write("feed.json", "{\"name\":\"Slatemoor\",\n \"decimals\":\"comma\"}")),
            MENISCUS_OK);
  EXPECT_EQ(try_checker(), MENISCUS_WRONG_PROFILE);
  EXPECT_THAT(error(), HasSubstr("feed.json:2:13: error: "));
  EXPECT_THAT(problems(), HasSubstr(R"([{"code":"profile","severity":"error","file":")"));
  EXPECT_THAT(problems(), HasSubstr(R"("line":2,"column":13)"));
}

TEST_F(Failures, AnswersThatCannotBeRead) {
  load_rest();
  ASSERT_EQ(set("answers", (folder / "nowhere.ndjson")), MENISCUS_OK);
  EXPECT_EQ(try_checker(), MENISCUS_WRONG_ANSWERS);
  ASSERT_EQ(set("answers", folder.write("answers.ndjson", "{\"rule\":1}\n")), MENISCUS_OK);
  EXPECT_EQ(try_checker(), MENISCUS_WRONG_ANSWERS);
  EXPECT_THAT(problems(), HasSubstr(R"("line":1)"));
}

TEST_F(Failures, AStoreThatCannotBeOpened) {
  load_rest();
  ASSERT_EQ(set("history", "sqlite:" + (folder / "nowhere/history.db")), MENISCUS_OK);
  EXPECT_EQ(try_checker(), MENISCUS_NO_HISTORY);
  EXPECT_THAT(error(), HasSubstr("nowhere/history.db"));
  ASSERT_EQ(set("history", "sqlite:" + folder.write("text.db", "no database, but a text\n")),
            MENISCUS_OK);
  EXPECT_EQ(try_checker(), MENISCUS_NO_HISTORY);
}

TEST_F(Failures, AStoreIsOneCheckersAlone) {
  load_rest();
  const std::string place = "sqlite:" + (folder / "history.db");
  ASSERT_EQ(set("history", place), MENISCUS_OK);
  ASSERT_EQ(try_checker(), MENISCUS_OK) << error();
  const Checker first = std::move(checker);
  EXPECT_EQ(try_checker(), MENISCUS_NO_HISTORY) << "a second one in this process";
  const std::string input = folder.write("order.ndjson", order("A-1", "2026-03-02"));
  const std::string said =
      run_program("check " + input + " --only-rules --rules " + (folder / "rest.rule") +
                  " --to jsonl --history " + place + " 2>&1");
  EXPECT_THAT(said, ::testing::Not(HasSubstr("outcome")))
      << "a second program, after this one has tried twice";
}

TEST_F(Failures, BytesOfNoFormat) {
  load_rest();
  ASSERT_EQ(try_checker(), MENISCUS_OK);
  MeniscusStatus status = MENISCUS_OK;
  EXPECT_EQ(check(checker, "once upon a time", MENISCUS_AUTO, &status), nullptr);
  EXPECT_EQ(status, MENISCUS_UNKNOWN_FORMAT);
  EXPECT_THAT(meniscus_checker_error(checker.get()), HasSubstr("name it"));
  EXPECT_EQ(check(checker, "{}", 17, &status), nullptr);
  EXPECT_EQ(status, MENISCUS_UNKNOWN_FORMAT);
  const Verdicts named = check(checker, "once upon a time", MENISCUS_JSON, &status);
  EXPECT_EQ(outcomes(named), "hold");
  EXPECT_STREQ(meniscus_checker_error(checker.get()), "");
  EXPECT_EQ(outcomes(check(checker, "")), "hold") << "an empty input is no clear order";
}

TEST_F(Failures, NullIsRefused) {
  EXPECT_EQ(meniscus_settings_new(nullptr), MENISCUS_NULL_ARGUMENT);
  EXPECT_EQ(meniscus_settings_set(nullptr, "slips", "no"), MENISCUS_NULL_ARGUMENT);
  EXPECT_EQ(meniscus_settings_set(wanted.get(), nullptr, "no"), MENISCUS_NULL_ARGUMENT);
  EXPECT_EQ(meniscus_settings_set(wanted.get(), "slips", nullptr), MENISCUS_NULL_ARGUMENT);
  EXPECT_EQ(meniscus_settings_set_history(nullptr, nullptr, nullptr), MENISCUS_NULL_ARGUMENT);
  load_rest();
  ASSERT_EQ(try_checker(), MENISCUS_OK);
  // What was there before is not taken for an answer.
  auto* made = rules.get();
  EXPECT_EQ(meniscus_rules_load(nullptr, &made), MENISCUS_NULL_ARGUMENT);
  EXPECT_EQ(made, nullptr);
  EXPECT_EQ(meniscus_rules_load(wanted.get(), nullptr), MENISCUS_NULL_ARGUMENT);
  auto* built = checker.get();
  EXPECT_EQ(meniscus_checker_new(nullptr, wanted.get(), &built), MENISCUS_NULL_ARGUMENT);
  EXPECT_EQ(built, nullptr);
  EXPECT_EQ(meniscus_checker_new(rules.get(), nullptr, &built), MENISCUS_NULL_ARGUMENT);
  EXPECT_EQ(meniscus_checker_new(rules.get(), wanted.get(), nullptr), MENISCUS_NULL_ARGUMENT);
  EXPECT_EQ(meniscus_checker_use_rules(nullptr, rules.get()), MENISCUS_NULL_ARGUMENT);
  EXPECT_EQ(meniscus_checker_use_rules(checker.get(), nullptr), MENISCUS_NULL_ARGUMENT);
  MeniscusVerdicts* verdicts = nullptr;
  EXPECT_EQ(meniscus_check(nullptr, 0, "{}", 2, &verdicts), MENISCUS_NULL_ARGUMENT);
  EXPECT_EQ(meniscus_check(checker.get(), 0, nullptr, 2, &verdicts), MENISCUS_NULL_ARGUMENT);
  EXPECT_EQ(meniscus_check(checker.get(), 0, "{}", 2, nullptr), MENISCUS_NULL_ARGUMENT);
  EXPECT_EQ(verdicts, nullptr);
  EXPECT_EQ(meniscus_write(nullptr, "{}", 2), MENISCUS_NULL_ARGUMENT);
  meniscus_settings_free(nullptr);
  meniscus_rules_free(nullptr);
  meniscus_checker_free(nullptr);
  meniscus_verdicts_free(nullptr);
  EXPECT_STREQ(meniscus_settings_error(nullptr), "");
  EXPECT_STREQ(meniscus_settings_problems(nullptr), "[]");
  EXPECT_STREQ(meniscus_checker_error(nullptr), "");
  EXPECT_STREQ(meniscus_checker_problems(nullptr), "[]");
  EXPECT_STREQ(meniscus_checker_never_assessed(nullptr), "[]");
  EXPECT_STREQ(meniscus_rules_hash(nullptr), "");
  EXPECT_STREQ(meniscus_rules_day(nullptr), "");
  EXPECT_EQ(meniscus_rules_count(nullptr), 0U);
}

TEST_F(Failures, EveryStatusHasItsOwnSentence) {
  std::vector<std::string> sentences;
  for (int status = MENISCUS_OK; status <= MENISCUS_INTERNAL; ++status) {
    const std::string text = meniscus_status_text(status);
    EXPECT_NE(text, meniscus_status_text(-1)) << status;
    EXPECT_EQ(std::count(sentences.begin(), sentences.end(), text), 0) << text;
    sentences.push_back(text);
  }
  EXPECT_STREQ(meniscus_status_text(MENISCUS_INTERNAL + 1), meniscus_status_text(-1));
}

}  // namespace
}  // namespace meniscus::plugin_tests
