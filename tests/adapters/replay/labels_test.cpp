// What readers' labels say, against published worked examples.
#include "adapters/replay/labels.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

namespace meniscus::adapters::replay {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

// Newcombe, "Two-sided confidence intervals for the single proportion: comparison of seven
// methods", Statistics in Medicine 17 (1998), table I, Wilson's score method without continuity
// correction: 81/263, 15/148, 0/20, 1/29.
TEST(Wilson, AgreesWithAPublishedTable) {
  const auto rounded = [](Count part, Count all) {
    const Share share = *wilson(part, all);
    return std::vector<long>{std::lround(share.lower * 1e4), std::lround(share.upper * 1e4)};
  };
  EXPECT_THAT(rounded(81, 263), ElementsAre(2553, 3662));
  EXPECT_THAT(rounded(15, 148), ElementsAre(624, 1605));
  EXPECT_THAT(rounded(0, 20), ElementsAre(0, 1611));
  EXPECT_THAT(rounded(1, 29), ElementsAre(61, 1718));
  EXPECT_FALSE(wilson(0, 0));
}

// Two readers on fifty proposals: both yes 20, both no 15, yes-no 5, no-yes 10: observed 0.7, by
// chance 0.5, kappa 0.4 (a common textbook example of Cohen's kappa; figures from memory).
TEST(Kappa, AgreesWithAWorkedExample) {
  EXPECT_NEAR(*kappa({{{20, 5, 0}, {10, 15, 0}, {0, 0, 0}}}), 0.4, 1e-12);
  EXPECT_NEAR(*kappa({{{5, 0, 0}, {0, 5, 0}, {0, 0, 2}}}), 1.0, 1e-12);
  EXPECT_FALSE(kappa({{{5, 0, 0}, {0, 0, 0}, {0, 0, 0}}})) << "chance alone agrees on everything";
}

Example drawn(std::uint64_t key, const std::string& order) {
  Example example;
  example.key = key << 16U;
  example.order = order;
  example.patient = "SM-0012";
  example.file = "a.ndjson";
  example.line = key;
  example.fields = {{"order.id", order}, {"patient.id", "SM-0012"}, {"dose", "=1+1"}};
  return example;
}

/// Two orders with a finding of ten, four drawn of ninety without.
Summary key_summary() {
  Summary summary;
  SideInfo& side = summary.head.sides.emplace_back();
  side.rules.push_back({"large", "A large dose", {}, {}, false, false, {}, {}});
  RuleTally& rule = summary.tally.sides.emplace_back().rules.emplace_back();
  rule.concerned = 100;
  rule.fired = 10;
  rule.drawn_fired = Examples(4);
  rule.drawn_silent = Examples(4);
  for (std::uint64_t i = 1; i <= 4; ++i) {
    rule.drawn_fired.add(drawn(2 * i, "F-" + std::to_string(i)));
    rule.drawn_silent.add(drawn(2 * i + 1, "S-" + std::to_string(i)));
  }
  return summary;
}

TEST(Sample, DoesNotSayWhatFired) {
  const std::string csv = sample_csv(key_summary(), false);
  EXPECT_THAT(csv, HasSubstr("\"sample\",\"rule\",\"title\",\"label\",\"remark\",\"file\",\"line\","
                             "\"order.id\",\"patient.id\",\"dose\"\r\n"));
  const std::size_t first = csv.find("F-1");
  EXPECT_LT(first, csv.find("S-1"));
  EXPECT_LT(csv.find("S-1"), csv.find("F-2")) << "they are mixed";
  EXPECT_THAT(csv, HasSubstr("\"patient 1\",\"'=1+1\""));
  EXPECT_EQ(csv.find("SM-0012"), std::string::npos);
  EXPECT_NE(sample_csv(key_summary(), true).find("SM-0012"), std::string::npos);
}

/// The table with labels by line, as a reader with another separator sends it back.
std::string labelled(const std::string& labels) {
  std::string csv = "sample;label;remark\r\n";
  const std::vector<std::string> ids = {"000000000002", "000000000003", "000000000004",
                                        "000000000005", "000000000006", "000000000007",
                                        "000000000008", "000000000009"};
  for (std::size_t i = 0; i < labels.size(); ++i) {
    const char c = labels[i];
    csv += ids[i] + ";" + (c == 'y' ? "Yes" : c == 'n' ? "no" : c == '?' ? "unsure" : "") + ";\r\n";
  }
  return csv;
}

TEST(Labels, GiveSharesAndAgreement) {
  Summary summary = key_summary();
  Labels labels(summary);
  // fired: y y n -, silent: n n y ?
  ASSERT_TRUE(labels.add(labelled("ynynny ?")));
  labels.settle(summary);
  ASSERT_EQ(summary.labels.size(), 1U);
  const RuleLabels& one = summary.labels[0];
  EXPECT_EQ(one.fired_read, 3U);
  EXPECT_EQ(one.fired_right, 2U);
  EXPECT_EQ(one.silent_read, 3U);
  EXPECT_EQ(one.silent_missed, 1U);
  EXPECT_EQ(one.unsettled, 1U);
  EXPECT_EQ(one.both_read, 0U);
  // 90 silent orders, a third missed: 30; 10 found, two thirds right: 6.67.
  EXPECT_NEAR(one.missed_of_wanted->value, 30 / (30 + 20.0 / 3), 1e-12);
  EXPECT_LT(one.missed_of_wanted->lower, one.missed_of_wanted->value);
  EXPECT_GT(one.missed_of_wanted->upper, one.missed_of_wanted->value);
}

TEST(Labels, CountOnlyWhereReadersAgree) {
  Summary summary = key_summary();
  Labels labels(summary);
  ASSERT_TRUE(labels.add(labelled("yyyy")));
  ASSERT_TRUE(labels.add(labelled("ynyn")));
  labels.settle(summary);
  EXPECT_EQ(summary.labels[0].both_read, 4U);
  EXPECT_EQ(summary.labels[0].agreed, 2U);
  EXPECT_EQ(summary.labels[0].unsettled, 2U);
  EXPECT_EQ(summary.labels[0].fired_read, 2U);
  EXPECT_NEAR(*summary.labels[0].kappa, 0, 1e-12) << "one reader says yes to everything";
}

TEST(Labels, SayWhatIsWrongAndWhere) {
  const Summary summary = key_summary();
  const auto problem = [&summary](const std::string& csv) {
    Labels labels(summary);
    const engine::Status added = labels.add(csv);
    return added ? std::string() : added.error().message;
  };
  EXPECT_THAT(problem("sample,label\n000000000002,perhaps\n"),
              HasSubstr("line 2: `perhaps` is no label; write yes, no or unsure"));
  EXPECT_THAT(problem("sample,label\n000000000002,yes\nabc,no\n"),
              HasSubstr("line 3: `abc` is no"));
  EXPECT_THAT(problem("sample,label\n000000000002,yes\n000000000002,no\n"),
              HasSubstr("line 3: sample 000000000002 is there twice"));
  EXPECT_THAT(problem("a,b\n1,2\n"), HasSubstr("no columns `sample` and `label`"));
}

}  // namespace
}  // namespace meniscus::adapters::replay
