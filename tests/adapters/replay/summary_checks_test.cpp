// A replay's summary as SARIF and as JUnit XML.
//
// Checked against: SARIF 2.1.0, sections 3.27 (results) and 3.30.5 (startLine), by hand here; real
//                  runs against its schema, and JUnit by a parser of others, in
//                  tests/interop/datacheck.
#include "adapters/replay/summary_checks.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "tests/adapters/replay/sample_summary.hpp"

namespace meniscus::adapters::replay {
namespace {
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;
using testing::one_sided_summary;
using testing::sample_summary;
using Json = nlohmann::json;

Json run_of(const Summary& summary) { return Json::parse(summary_sarif(summary))["runs"][0]; }

/// "rule level: message" of each result.
std::vector<std::string> results_of(const Json& run) {
  std::vector<std::string> all;
  for (const Json& result : run["results"]) {
    all.push_back(result["ruleId"].get<std::string>() + " " + result["level"].get<std::string>() +
                  ": " + result["message"]["text"].get<std::string>());
  }
  return all;
}

TEST(SummarySarif, HasAResultForEachSignalAndEachDifference) {
  EXPECT_THAT(
      results_of(run_of(sample_summary())),
      ElementsAre("volume-limit warning: often: fired on 20.0 % of all 2000 judged orders",
                  "volume-limit warning: drop: fired on 10.0 % of the 1000 orders that it "
                  "concerned in 2026-01; 30.0 % in the other months",
                  "volume-limit warning: jump: fired on 30.0 % of the 1000 orders that it "
                  "concerned in 2026-02; 10.0 % in the other months",
                  "volume-limit note: before and after differ: graver on 2, the same on 398 of "
                  "400 orders that it fired on",
                  "quiet warning: never fired; it concerned 50 orders",
                  "gone-rule note: before and after differ: gone on 3, the same on 0 of 3 orders "
                  "that it fired on",
                  "new-rule note: before and after differ: newly on 5, the same on 0 of 5 orders "
                  "that it fired on"));
}

TEST(SummarySarif, LeadsToItsRules) {
  const Json run = run_of(sample_summary());
  const Json& rules = run["tool"]["driver"]["rules"];
  ASSERT_EQ(rules.size(), 6U);
  for (const Json& result : run["results"])
    EXPECT_EQ(rules.at(result["ruleIndex"].get<std::size_t>())["id"], result["ruleId"]);
  EXPECT_EQ(rules[2]["shortDescription"]["text"], "Title of gone-rule");
  EXPECT_EQ(rules[2]["help"]["text"], "Source: common practice");
  EXPECT_EQ(run["tool"]["driver"]["properties"]["rules"]["after"], "sha256:after");
}

TEST(SummarySarif, HasExamplesAsPlaces) {
  const Json run = run_of(sample_summary());
  const Json& result = run["results"][3];
  ASSERT_EQ(result["locations"].size(), 1U);
  ASSERT_EQ(result["relatedLocations"].size(), 1U);
  const Json& place = result["locations"][0]["physicalLocation"];
  EXPECT_EQ(place["artifactLocation"]["uri"], "orders%20of%20march.ndjson");
  EXPECT_EQ(place["region"]["startLine"], 7);
  EXPECT_EQ(result["relatedLocations"][0]["physicalLocation"]["region"]["startLine"], 9);
  EXPECT_EQ(result["properties"]["graver"], 2);
}

TEST(SummarySarif, SaysWhatCouldNotBeOpened) {
  Summary summary = one_sided_summary();
  EXPECT_EQ(run_of(summary)["invocations"][0]["executionSuccessful"], true);
  summary.head.unopened = {"cannot open april.ndjson"};
  const Json invocation = run_of(summary)["invocations"][0];
  EXPECT_EQ(invocation["executionSuccessful"], false);
  EXPECT_EQ(invocation["toolExecutionNotifications"][0]["message"]["text"],
            "cannot open april.ndjson");
}

TEST(SummaryChecks, SayWhichRecordsCouldNotBeRead) {
  Summary summary = one_sided_summary();
  summary.tally.input.unreadable = 22;
  summary.tally.input.unread = {{0, 17, "it is no JSON"}};
  const Json notifications = run_of(summary)["invocations"][0]["toolExecutionNotifications"];
  ASSERT_EQ(notifications.size(), 2U);
  EXPECT_EQ(notifications[0]["message"]["text"], "orders of march.ndjson:17: it is no JSON");
  EXPECT_EQ(notifications[1]["message"]["text"], "21 more records: cannot be read");
  EXPECT_THAT(summary_junit(summary),
              HasSubstr("<testsuite name=\"records that could not be read\" tests=\"2\" "
                        "failures=\"0\" errors=\"2\" skipped=\"0\" time=\"0\">\n"
                        "  <testcase name=\"orders of march.ndjson:17\" "));
}

TEST(SummaryChecks, NameNoPatientAndNoOrder) {
  for (const std::string& text :
       {summary_sarif(sample_summary()), summary_junit(sample_summary())}) {
    EXPECT_THAT(text, Not(HasSubstr("SM-00")));
    EXPECT_THAT(text, Not(HasSubstr("A-7")));
    EXPECT_THAT(text, HasSubstr("volume-limit"));
  }
}

TEST(SummaryJunit, FailsWhereSidesDifferOrSomethingWantsALook) {
  const std::string text = summary_junit(sample_summary());
  EXPECT_THAT(text, HasSubstr("<testsuite name=\"replay\" tests=\"6\" failures=\"4\" errors=\"0\" "
                              "skipped=\"0\" time=\"0\">"));
  EXPECT_THAT(text, HasSubstr("<testcase name=\"volume-limit\" classname=\"replay\" time=\"0\">\n"
                              "   <failure type=\"difference\" message=\"before and after differ: "
                              "graver on 2, the same on 398 of 400 orders that it fired on\">"));
  EXPECT_THAT(text, HasSubstr("often: fired on 20.0 % of all 2000 judged orders\n"));
  EXPECT_THAT(text, HasSubstr("orders of march.ndjson:7\norders of march.ndjson:9\n</failure>"));
  EXPECT_THAT(text,
              HasSubstr("<testcase name=\"doubtful-value\" classname=\"replay\" time=\"0\"/>"));
}

TEST(SummaryJunit, OfOneSetFailsOnSignalsAlone) {
  const std::string text = summary_junit(one_sided_summary());
  EXPECT_THAT(text, HasSubstr("tests=\"5\" failures=\"2\""));
  EXPECT_THAT(text, HasSubstr("<failure type=\"signal\" message=\"never fired; it concerned 50 "
                              "orders\">never fired; it concerned 50 orders\n</failure>"));
  EXPECT_THAT(text, HasSubstr("<testcase name=\"new-rule\" classname=\"replay\" time=\"0\"/>"));
}

TEST(SummaryJunit, StaysXmlWhateverAFileIsCalled) {
  Summary summary = one_sided_summary();
  summary.head.unopened = {"cannot open <a>&\"\x01.ndjson"};
  const std::string text = summary_junit(summary);
  EXPECT_THAT(text, HasSubstr("message=\"cannot open &lt;a&gt;&amp;&quot; .ndjson\""));
  EXPECT_THAT(text, HasSubstr("<testsuite name=\"inputs that could not be opened\" tests=\"1\" "
                              "failures=\"0\" errors=\"1\""));
}

}  // namespace
}  // namespace meniscus::adapters::replay
