// Walking verdicts: the same that the JSON says, piece by piece.
#include <gtest/gtest.h>

#include "tests/adapters/plugin/plugin_host.hpp"

namespace meniscus::plugin_tests {
namespace {

const std::string kFits =
    "rule barrel-too-small \"The volume fits the barrel\"\n"
    "    concerns all orders\n"
    "    raise hold when volume > 2 * syringe.capacity\n"
    "        say \"{volume} is far too much.\"\n"
    "        blames volume\n"
    "    raise clarify when volume > syringe.capacity\n"
    "        say \"{volume} does not fit {syringe.capacity}.\"\n"
    "        ask \"Which syringe is meant?\"\n"
    "        blames volume, syringe.capacity\n"
    "    cite \"common practice\"\n"
    "    owner \"pharmacy\"\n";

class Walk : public ::testing::Test {
 public:
  Verdicts check_text(const std::string& text, const Pairs& more = {}) {
    Pairs all = {{"only-rules", "yes"},
                 {"rules", folder.write("fits.rule", kFits)},
                 {"history", "input"},
                 {"slips", "no"}};
    all.insert(all.end(), more.begin(), more.end());
    const Settings wanted = settings(all);
    return check(make_checker(load(wanted.get()), wanted), text);  // outlives all that made it
  }

  const Folder folder;
};

TEST_F(Walk, FindingsWithTheirFieldsAndPlaces) {
  const Verdicts verdicts = check_text(
      "{\"order\":{\"id\":\"A-7\"},\"patient\":{\"id\":\"SM-0012\"},\n"
      " \"volume\":\"1.5 mL\",\n \"syringe\":{\"capacity\":\"1 mL\"}}\n");
  ASSERT_EQ(meniscus_verdicts_count(verdicts.get()), 1U);
  const MeniscusVerdict* verdict = meniscus_verdicts_at(verdicts.get(), 0);
  std::size_t size = 0;
  EXPECT_STREQ(meniscus_verdict_order(verdict, &size), "A-7");
  EXPECT_EQ(size, 3U);
  EXPECT_STREQ(meniscus_verdict_patient(verdict, nullptr), "SM-0012");
  EXPECT_EQ(meniscus_verdict_outcome(verdict), MENISCUS_OUTCOME_CLARIFY);
  EXPECT_NE(meniscus_verdict_stops(verdict), 0);
  EXPECT_NE(meniscus_verdicts_stop(verdicts.get()), 0);
  ASSERT_EQ(meniscus_verdict_finding_count(verdict), 1U);
  const MeniscusFinding* finding = meniscus_verdict_finding(verdict, 0);
  EXPECT_STREQ(meniscus_finding_rule(finding, nullptr), "barrel-too-small");
  EXPECT_EQ(meniscus_finding_grade(finding), MENISCUS_GRADE_CLARIFY);
  EXPECT_EQ(meniscus_finding_clause(finding), 2U);
  EXPECT_EQ(meniscus_finding_group(finding), 1U);
  EXPECT_STREQ(meniscus_finding_say(finding, nullptr), "1.5 mL does not fit 1 mL.");
  EXPECT_STREQ(meniscus_finding_ask(finding, nullptr), "Which syringe is meant?");
  EXPECT_STREQ(meniscus_finding_cite(finding, nullptr), "common practice");
  ASSERT_EQ(meniscus_finding_field_count(finding), 2U);
  const MeniscusField* field = meniscus_finding_field(finding, 0);
  EXPECT_STREQ(meniscus_field_name(field, nullptr), "volume");
  EXPECT_STREQ(meniscus_field_value(field, nullptr), "1.5 mL");
  EXPECT_STREQ(meniscus_field_place(field, nullptr), "/volume");
  EXPECT_EQ(meniscus_field_line(field), 2U);
  EXPECT_EQ(meniscus_field_column(field), 12U);
  EXPECT_EQ(meniscus_field_from_text(field), 0);
  EXPECT_EQ(meniscus_finding_field(finding, 2), nullptr);
  EXPECT_EQ(meniscus_verdict_finding(verdict, 1), nullptr);
  EXPECT_EQ(meniscus_verdicts_at(verdicts.get(), 1), nullptr);
}

TEST_F(Walk, WhatWasMissing) {
  const Verdicts verdicts = check_text(order("A-1", "2026-03-02"));
  const MeniscusVerdict* verdict = meniscus_verdicts_at(verdicts.get(), 0);
  EXPECT_EQ(meniscus_verdict_outcome(verdict), MENISCUS_OUTCOME_INCOMPLETE);
  EXPECT_NE(meniscus_verdict_stops(verdict), 0) << "incomplete is never clear";
  ASSERT_EQ(meniscus_verdict_missing_count(verdict), 2U);
  const MeniscusMissing* missing = meniscus_verdict_missing(verdict, 0);
  EXPECT_STREQ(meniscus_missing_what(missing, nullptr), "volume");
  ASSERT_EQ(meniscus_missing_rule_count(missing), 1U);
  EXPECT_STREQ(meniscus_missing_rule(missing, 0), "barrel-too-small");
  EXPECT_EQ(meniscus_missing_rule(missing, 1), nullptr);
  EXPECT_EQ(meniscus_verdict_missing(verdict, 2), nullptr);
}

TEST_F(Walk, WhatStopsIsTheHostsChoice) {
  const std::string text = order("A-1", "2026-03-02");
  EXPECT_EQ(meniscus_verdicts_stop(check_text(text, {{"fail-at", "clarify"}}).get()), 0);
  EXPECT_NE(meniscus_verdicts_stop(check_text(text, {{"fail-at", "incomplete"}}).get()), 0);
  EXPECT_NE(meniscus_verdicts_stop(check_text("[]").get()), 0) << "no order is no clearance";
}

TEST_F(Walk, WhatCannotBeReadIsHeldAtItsPlace) {
  const Verdicts verdicts =
      check_text(order("A-1", "2026-03-02") + "{\"order\":}\n" + order("A-3", "2026-03-02"));
  EXPECT_EQ(outcomes(verdicts), "incomplete hold incomplete");
  const MeniscusFinding* finding =
      meniscus_verdict_finding(meniscus_verdicts_at(verdicts.get(), 1), 0);
  EXPECT_STREQ(meniscus_finding_rule(finding, nullptr), "unreadable");
  ASSERT_EQ(meniscus_finding_field_count(finding), 1U);
  EXPECT_STREQ(meniscus_field_name(meniscus_finding_field(finding, 0), nullptr), "");
  EXPECT_EQ(meniscus_field_line(meniscus_finding_field(finding, 0)), 2U);
}

TEST_F(Walk, AnOutcomeThatIsNoJudgementHasAReason) {
  const std::string oral = R"({"order":{"id":"A-1"},"patient":{"id":"SM-0012"},"route":"oral"})";
  const Verdicts verdicts = check_text(oral, {{"rules", kRules}});
  const MeniscusVerdict* verdict = meniscus_verdicts_at(verdicts.get(), 0);
  EXPECT_EQ(meniscus_verdict_outcome(verdict), MENISCUS_OUTCOME_OUTSIDE);
  EXPECT_STRNE(meniscus_verdict_reason(verdict, nullptr), "");
}

TEST_F(Walk, WhatAFeedNeverCarriesIsSaidOnceAndMakesNothingIncomplete) {
  const Settings wanted = settings(
      {{"only-rules", "yes"}, {"rules", folder.write("fits.rule", kFits)}, {"history", "input"}});
  const Checker checker = make_checker(load(wanted.get()), wanted);
  EXPECT_STREQ(meniscus_checker_never_assessed(checker.get()), "[]");
  const Verdicts verdicts = check(checker, "order.id,patient.id,volume\nA-1,SM-0012,1 mL\n");
  EXPECT_EQ(outcomes(verdicts), "clear");
  const std::string never = meniscus_checker_never_assessed(checker.get());
  EXPECT_EQ(never, R"([{"missing":"syringe.capacity","rules":["barrel-too-small"]}])");
}

TEST_F(Walk, AnIdWithAZeroIsInDoubtAndNeverCutShort) {
  const Verdicts verdicts =
      check_text(R"({"order":{"id":"A-1\u0000B"},"patient":{"id":"SM-0012"}})");
  const MeniscusVerdict* verdict = meniscus_verdicts_at(verdicts.get(), 0);
  EXPECT_STREQ(meniscus_verdict_order(verdict, nullptr), "");
  const MeniscusFinding* finding = meniscus_verdict_finding(verdict, 0);
  EXPECT_STREQ(meniscus_finding_rule(finding, nullptr), "doubtful-value");
  std::size_t size = 0;
  const char* say = meniscus_finding_say(finding, &size);
  EXPECT_EQ(std::string(say), std::string(say, size));
}

TEST_F(Walk, NullIsLookedAtWithoutHarmAndIsNeverClear) {
  EXPECT_EQ(meniscus_verdicts_count(nullptr), 0U);
  EXPECT_NE(meniscus_verdicts_stop(nullptr), 0);
  EXPECT_EQ(meniscus_verdicts_at(nullptr, 0), nullptr);
  EXPECT_STREQ(meniscus_verdicts_jsonl(nullptr, nullptr), "");
  EXPECT_EQ(meniscus_verdicts_hl7(nullptr, nullptr), nullptr);
  EXPECT_EQ(meniscus_verdict_outcome(nullptr), MENISCUS_OUTCOME_HOLD);
  EXPECT_NE(meniscus_verdict_stops(nullptr), 0);
  EXPECT_STREQ(meniscus_verdict_order(nullptr, nullptr), "");
  EXPECT_STREQ(meniscus_verdict_patient(nullptr, nullptr), "");
  EXPECT_STREQ(meniscus_verdict_reason(nullptr, nullptr), "");
  EXPECT_EQ(meniscus_verdict_finding_count(nullptr), 0U);
  EXPECT_EQ(meniscus_verdict_finding(nullptr, 0), nullptr);
  EXPECT_EQ(meniscus_verdict_missing_count(nullptr), 0U);
  EXPECT_EQ(meniscus_verdict_missing(nullptr, 0), nullptr);
  EXPECT_EQ(meniscus_finding_grade(nullptr), MENISCUS_GRADE_HOLD);
  EXPECT_EQ(meniscus_finding_group(nullptr), 0U);
  EXPECT_EQ(meniscus_finding_clause(nullptr), 0U);
  EXPECT_STREQ(meniscus_finding_rule(nullptr, nullptr), "");
  EXPECT_STREQ(meniscus_finding_say(nullptr, nullptr), "");
  EXPECT_STREQ(meniscus_finding_ask(nullptr, nullptr), "");
  EXPECT_STREQ(meniscus_finding_cite(nullptr, nullptr), "");
  EXPECT_EQ(meniscus_finding_field_count(nullptr), 0U);
  EXPECT_EQ(meniscus_finding_field(nullptr, 0), nullptr);
  EXPECT_STREQ(meniscus_field_name(nullptr, nullptr), "");
  EXPECT_STREQ(meniscus_field_value(nullptr, nullptr), "");
  EXPECT_STREQ(meniscus_field_place(nullptr, nullptr), "");
  EXPECT_EQ(meniscus_field_line(nullptr), 0U);
  EXPECT_EQ(meniscus_field_column(nullptr), 0U);
  EXPECT_EQ(meniscus_field_from_text(nullptr), 0);
  EXPECT_STREQ(meniscus_missing_what(nullptr, nullptr), "");
  EXPECT_EQ(meniscus_missing_rule_count(nullptr), 0U);
  EXPECT_EQ(meniscus_missing_rule(nullptr, 0), nullptr);
}

TEST(Words, AreThoseOfTheVerdicts) {
  EXPECT_STREQ(meniscus_grade_name(MENISCUS_GRADE_NOTE), "note");
  EXPECT_STREQ(meniscus_grade_name(MENISCUS_GRADE_HOLD), "hold");
  EXPECT_STREQ(meniscus_grade_name(0), "");
  EXPECT_STREQ(meniscus_outcome_name(MENISCUS_OUTCOME_CLEAR), "clear");
  EXPECT_STREQ(meniscus_outcome_name(MENISCUS_OUTCOME_RECORDED), "recorded");
  EXPECT_STREQ(meniscus_outcome_name(-1), "");
  EXPECT_EQ(meniscus_api_version(), MENISCUS_API_VERSION);
  EXPECT_STREQ(meniscus_version(), MENISCUS_VERSION);
}

}  // namespace
}  // namespace meniscus::plugin_tests
