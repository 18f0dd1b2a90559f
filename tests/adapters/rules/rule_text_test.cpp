// The words of a rule's parts, as pages about rules show them.
//
// Source: docs/rule-language.md says what a rule's parts are and what follows what.
#include "adapters/rules/rule_text.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace meniscus::adapters {
namespace {

using ::testing::ElementsAre;

constexpr std::string_view kRule = R"(rule site-rest "Let a site rest"
    concerns orders where route is one of subcutaneous,
        intramuscular
    let rest = (look up site-rest in substances where row.code is substance.code) or else 7 days
    raise caution when days since here.when < rest   # a comment with "quotes
        and side is given
        say "The {side} site: a # in words, and say raise when."
        ask "Which other site?"
        blames site, side
    raise note when site is missing
        say "No site."
    without side raise note say "Which side?" ask "Left or right?"
    without site, route ignore
    cite "common practice" owner "lead nurse" reviewed 2026-11-20 review by 2027-11-20)";

TEST(SplitRule, GivesTheWordsOfEachPart) {
  const RuleText rule = split_rule(kRule);
  EXPECT_EQ(rule.concerns, "orders where route is one of subcutaneous, intramuscular");
  ASSERT_EQ(rule.lets.size(), 1U);
  EXPECT_EQ(rule.lets[0].first, "rest");
  EXPECT_EQ(rule.lets[0].second,
            "(look up site-rest in substances where row.code is substance.code) or else 7 days");
  ASSERT_EQ(rule.clauses.size(), 2U);
  EXPECT_EQ(rule.clauses[0].grade, "caution");
  EXPECT_EQ(rule.clauses[0].when, "days since here.when < rest and side is given");
  EXPECT_EQ(rule.clauses[0].say, "The {side} site: a # in words, and say raise when.");
  EXPECT_EQ(rule.clauses[0].ask, "Which other site?");
  EXPECT_EQ(rule.clauses[0].blames, "site, side");
  EXPECT_EQ(rule.clauses[1].grade, "note");
  EXPECT_EQ(rule.clauses[1].ask, "");
}

TEST(SplitRule, KeepsWhatIsSaidWithoutAFieldApartFromTheClauses) {
  const RuleText rule = split_rule(kRule);
  ASSERT_EQ(rule.withouts.size(), 2U);
  EXPECT_EQ(rule.withouts[0].fields, "side");
  EXPECT_EQ(rule.withouts[0].grade, "note");
  EXPECT_EQ(rule.withouts[0].say, "Which side?");
  EXPECT_EQ(rule.withouts[0].ask, "Left or right?");
  EXPECT_EQ(rule.withouts[1].fields, "site, route");
  EXPECT_EQ(rule.withouts[1].grade, "") << "ignored";
}

TEST(Paragraphs, KeepACommentWithTheLinesUnderIt) {
  const std::vector<Paragraph> all = paragraphs(R"(# About this file,
# on two lines.

# The first group.
setting a = 1
setting b = 2
    "goes on"
# The second group.
setting c = 3

define d = a
)");
  ASSERT_EQ(all.size(), 4U);
  EXPECT_EQ(all[0].comment, "About this file, on two lines.");
  EXPECT_TRUE(all[0].lines.empty());
  EXPECT_EQ(all[1].comment, "The first group.");
  EXPECT_THAT(all[1].lines, ElementsAre("setting a = 1", "setting b = 2 \"goes on\""));
  EXPECT_EQ(all[2].comment, "The second group.");
  EXPECT_THAT(all[2].lines, ElementsAre("setting c = 3"));
  EXPECT_EQ(all[3].comment, "");
  EXPECT_THAT(all[3].lines, ElementsAre("define d = a"));
}

TEST(Paragraphs, HaveNothingOfAnEmptyFile) {
  ASSERT_EQ(paragraphs("").size(), 1U);
  EXPECT_TRUE(paragraphs("\n\n").front().lines.empty());
}

}  // namespace
}  // namespace meniscus::adapters
