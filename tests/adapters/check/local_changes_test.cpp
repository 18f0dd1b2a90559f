// What local changes make of verdicts, over columns and one by one: adjusted, regraded, muted and
// retired rules, extended tables, trials, versions; and that nothing is left of those that ended.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/rules_under_test.hpp"

namespace meniscus {
namespace {

using ::testing::ElementsAre;
using testing::Fields;
using testing::Judged;
using testing::LocalFile;
using testing::RulesUnderTest;

constexpr std::int64_t kDay = 20514;  // 2026-03-02

constexpr const char* kRules = R"(setting limit = 1 mL between 0.5 mL and 3 mL "t"
table limits from "limits.csv"
rule volume-limit "t"
    concerns all orders
    raise hold when volume > 5 mL say "stop" blames volume
    raise clarify when volume > limit say "{volume}" blames volume
    without volume ignore
rule often "t"
    concerns all orders
    raise caution when schedule.every < 7 days say "often" blames schedule.every
    without schedule.every raise note say "no rhythm"
rule by-table "t"
    concerns all orders
    let most = look up most in limits where row.code is substance.code
    raise note when dose > most say "more than {most}" blames dose
    without substance.code, dose ignore
)";
const std::map<std::string, std::string> kFiles = {{"limits.csv", "code, most [mass]\nm, 10 mg\n"},
                                                   {"ours.csv", "code, most [mass]\nn, 20 mg\n"}};

std::string because(const std::string& change, const std::string& until = "2026-12-31") {
  return change + " because \"protocol\" by \"lead nurse\" until " + until + "\n";
}

RulesUnderTest with(const std::string& local, std::int64_t day = kDay, bool allow = false) {
  return RulesUnderTest(kRules, kFiles, LocalFile{local, day, allow});
}

TEST(Adjusted, ASettingIsComparedAtItsLocalValueUntilTheLastDay) {
  const std::string local = because("adjust limit = 2 mL", "2026-03-02");
  const Fields order = {{"volume", "1.5 mL"}, {"schedule.every", "1 wk"}};
  EXPECT_EQ(with("").one(order).all(), "clarify | clarify volume-limit: 1.5 mL");
  EXPECT_EQ(with(local, kDay - 1).one(order).all(), "clear");
  EXPECT_EQ(with(local, kDay).one(order).all(), "clear");
  EXPECT_EQ(with(local, kDay + 1).one(order).all(), "clarify | clarify volume-limit: 1.5 mL");
}

TEST(Regraded, TheOutcomeIsTheNewGradeAndAWithoutGoesWithIt) {
  RulesUnderTest rules = with(because("regrade often from note to clarify") +
                              because("regrade often from caution to note"));
  EXPECT_EQ(rules.one({{"volume", "1 mL"}}).all(), "clarify | clarify often: no rhythm");
  EXPECT_EQ(rules.one({{"volume", "1 mL"}, {"schedule.every", "3 d"}}).all(),
            "note | note often: often");
}

TEST(Muted, AFindingIsKeptBesideAndCountsForNothing) {
  RulesUnderTest rules = with(because("mute often"));
  EXPECT_EQ(rules.one({{"volume", "1 mL"}, {"schedule.every", "3 d"}}).all(),
            "clear | muted caution often: often (protocol, lead nurse)");
  EXPECT_EQ(rules.one({{"volume", "1 mL"}}).all(),
            "clear | muted note often: no rhythm (protocol, lead nurse)");
  EXPECT_EQ(rules.one({{"volume", "2 mL"}, {"schedule.every", "3 d"}}).all(),
            "clarify | clarify volume-limit: 2 mL | muted caution often: often (protocol, lead "
            "nurse)");
}

TEST(Muted, OnlyWhereTheScopeHoldsBeyondDoubt) {
  RulesUnderTest rules = with(because("mute often where substance.code is m"));
  const Fields order = {{"volume", "1 mL"}, {"schedule.every", "3 d"}};
  const auto of = [&](const char* code) {
    Fields fields = order;
    fields.emplace_back("substance.code", code);
    return rules.one(fields).outcome;
  };
  EXPECT_EQ(of("m"), "clear");
  EXPECT_EQ(of("n"), "caution");
  EXPECT_EQ(of("none"), "caution");
  EXPECT_EQ(rules.one(order).outcome, "caution");  // unknown
}

TEST(Muted, AScopeMayAskForHistory) {
  RulesUnderTest rules =
      with(because("mute often where (number of earlier injections within 4 wk) > 1"));
  const auto order = [](const char* start) {
    return Fields{{"patient.id", "SM-0012"},
                  {"volume", "1 mL"},
                  {"schedule.every", "3 d"},
                  {"order.action", "new"},
                  {"schedule.start", start}};
  };
  const std::vector<Judged> all =
      rules.all({order("2026-03-01"), order("2026-03-04"), order("2026-03-07")});
  EXPECT_EQ(all[0].outcome, "caution");
  EXPECT_EQ(all[1].outcome, "caution");
  EXPECT_EQ(all[2].outcome, "clear");
}

TEST(Muted, AHoldStaysWithoutTheHostsLeave) {
  const std::string local = because("mute volume-limit");
  const Fields grave = {{"volume", "6 mL"}, {"schedule.every", "1 wk"}};
  const Fields mild = {{"volume", "2 mL"}, {"schedule.every", "1 wk"}};
  EXPECT_EQ(with(local).one(grave).all(), "hold | hold volume-limit: stop");
  EXPECT_EQ(with(local).one(mild).all(),
            "clear | muted clarify volume-limit: 2 mL (protocol, lead nurse)");
  EXPECT_EQ(with(local, kDay, true).one(grave).all(),
            "clear | muted hold volume-limit: stop (protocol, lead nurse)");
}

TEST(Muted, WhatTheRuleCannotDecideIsStillNotAssessed) {
  constexpr const char* kOpen =
      "rule r \"t\"\n    raise clarify when volume > 1 mL say \"x\" blames volume\n";
  RulesUnderTest rules(kOpen, {}, LocalFile{because("mute r")});
  EXPECT_EQ(rules.one({{"dose", "5 mg"}}).all(), "incomplete | ? volume: r");
}

TEST(Muted, NoSlipIsLookedFor) {
  const Fields order = {{"volume", "20 mL"}, {"schedule.every", "1 wk"}};
  RulesUnderTest rules = with("");
  ASSERT_FALSE(rules.one(order).slips.empty());
  RulesUnderTest muted = with(because("mute volume-limit"), kDay, true);
  EXPECT_TRUE(muted.one(order).slips.empty());
}

TEST(Retired, ARuleSaysNothingAndMissesNothing) {
  RulesUnderTest rules = with(because("retire often"));
  EXPECT_EQ(rules.one({{"volume", "1 mL"}, {"schedule.every", "3 d"}}).all(), "clear");
  EXPECT_EQ(rules.one({{"volume", "1 mL"}}).all(), "clear");
}

TEST(Extended, ATableAnswersForTheNewRowsToo) {
  const std::string local = "extend table limits from \"ours.csv\" because \"p\" by \"n\"\n";
  const Fields order = {
      {"volume", "1 mL"}, {"schedule.every", "1 wk"}, {"dose", "30 mg"}, {"substance.code", "n"}};
  EXPECT_EQ(with("").one(order).all(), "clear | ? limits: no row for n: by-table");
  EXPECT_EQ(with(local).one(order).all(), "note | note by-table: more than 20 mg");
}

TEST(Trial, IsJudgedAndKeptApart) {
  const std::string local =
      "trial rule idea until 2026-03-02 \"t\"\n    raise hold when volume > 0.5 mL say \"idea\" "
      "blames volume\n";
  const Fields order = {{"volume", "1 mL"}, {"schedule.every", "1 wk"}};
  EXPECT_EQ(with(local).one(order).all(), "clear | trial hold idea: idea");
  EXPECT_EQ(with(local, kDay + 1).one(order).all(), "clear");
  EXPECT_EQ(with(local).one({{"schedule.every", "1 wk"}}).all(), "clear");  // not incomplete
}

/// A few orders of every kind that the rules above know.
std::vector<Fields> many_orders() {
  std::vector<Fields> all;
  for (const char* volume : {"", "0.7 mL", "1 mL", "2 mL", "6 mL"}) {
    for (const char* every : {"", "3 d", "1 wk"}) {
      for (const char* code : {"", "m", "n"}) {
        Fields order = {{"dose", "15 mg"}, {"patient.id", "SM-0012"}};
        if (*volume != 0) order.emplace_back("volume", volume);
        if (*every != 0) order.emplace_back("schedule.every", every);
        if (*code != 0) order.emplace_back("substance.code", code);
        all.push_back(std::move(order));
      }
    }
  }
  return all;
}

const std::vector<std::string>& all_changes() {
  static const std::vector<std::string> kChanges = {
      because("adjust limit = 2 mL", "2026-03-01"),
      because("regrade often from caution to clarify", "2026-03-01"),
      because("mute often where substance.code is m and (any row of limits where row.code is "
              "substance.code)",
              "2026-03-01"),
      because("mute volume-limit", "2026-03-01"),
      because("retire by-table", "2026-03-01"),
      "trial rule idea until 2026-03-01 \"t\"\n    raise hold when volume > 0.5 mL say \"idea\" "
      "blames volume\n"};
  return kChanges;
}

TEST(Ended, VerdictsAreThoseWithoutAnyChange) {
  std::string local;
  for (const std::string& change : all_changes())
    local += change;
  RulesUnderTest shipped = with("");
  RulesUnderTest before = with(local, kDay - 1);
  RulesUnderTest after = with(local, kDay);
  const std::vector<Judged> expected = shipped.all(many_orders());
  const std::vector<Judged> ended = after.all(many_orders());
  const std::vector<Judged> in_force = before.all(many_orders());
  ASSERT_EQ(expected.size(), ended.size());
  std::size_t differ = 0;
  for (std::size_t i = 0; i < expected.size(); ++i) {
    EXPECT_EQ(expected[i].all(), ended[i].all()) << i;
    EXPECT_EQ(expected[i].slips, ended[i].slips) << i;
    if (expected[i].all() != in_force[i].all()) ++differ;
  }
  EXPECT_GT(differ, expected.size() / 2);  // they did something while they were in force
}

TEST(Ended, EachAloneLeavesNothingBehind) {
  RulesUnderTest shipped = with("");
  const std::vector<Judged> expected = shipped.all(many_orders());
  for (const std::string& change : all_changes()) {
    RulesUnderTest after = with(change, kDay);
    const std::vector<Judged> ended = after.all(many_orders());
    for (std::size_t i = 0; i < expected.size(); ++i)
      EXPECT_EQ(expected[i].all(), ended[i].all()) << change;
    EXPECT_EQ(print(after.program()), print(shipped.program())) << change;
  }
}

TEST(Versions, OrdersAreJudgedByTheRulesOfTheRulesDay) {
  const auto rule = [](const char* dates, const char* limit) {
    return std::string("rule r ") + dates + " \"t\"\n    raise caution when volume > " + limit +
           " say \"x\" blames volume\n";
  };
  const std::string both = rule("until 2026-03-02", "1 mL") + rule("from 2026-03-03", "2 mL");
  const Fields order = {{"volume", "1.5 mL"}};
  EXPECT_EQ(RulesUnderTest(both, {}, LocalFile{"", kDay}).one(order).outcome, "caution");
  EXPECT_EQ(RulesUnderTest(both, {}, LocalFile{"", kDay + 1}).one(order).outcome, "clear");
}

}  // namespace
}  // namespace meniscus
