// Verdicts as OperationOutcome.
//
// Checked against: FHIR R4, OperationOutcome (its two examples in tests/fixtures/fhir have the same
//          elements), value sets issue-severity and issue-type (CodeSystem-issue-type.json of the
//          specification's package).  A general-purpose validator reads it in tests/interop/fhir.
#include "adapters/fhir/outcome_writer.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <set>
#include <string>

#include "tests/adapters/report/sample_verdict.hpp"

namespace meniscus::adapters::fhir {
namespace {

using adapters::testing::clear_verdict;
using adapters::testing::FixedSource;
using adapters::testing::hold_verdict;
using engine::Outcome;
using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::Not;

class OutcomeLines : public ::testing::Test {
 protected:
  json resource(const engine::Verdict& verdict) {
    out.clear();
    writer.begin({1, "sha256:00ff"});
    writer.begin_input("day.ndjson");
    writer.write(verdict, block, source);
    EXPECT_TRUE(writer.finish());
    EXPECT_EQ(std::count(out.begin(), out.end(), '\n'), 1);
    return json::parse(out);
  }

  std::string out;
  OutcomeWriter writer{[this](std::string_view bytes) -> engine::Status {
    out += bytes;
    return engine::Done{};
  }};
  engine::OrderBlock block;
  FixedSource source;
};

TEST_F(OutcomeLines, AClearOrderIsOneInformationalIssueThatApprovesNothing) {
  const json got = resource(clear_verdict());
  EXPECT_EQ(got["resourceType"], "OperationOutcome");
  ASSERT_EQ(got["issue"].size(), 1U);
  EXPECT_EQ(got["issue"][0]["severity"], "information");
  EXPECT_EQ(got["issue"][0]["code"], "informational");
  const std::string text = got["issue"][0]["details"]["text"];
  EXPECT_EQ(text,
            "Order A-102 of patient SM-0012: clear (checked, and nothing was found; this does not "
            "approve the order)");
  EXPECT_THAT(text, Not(HasSubstr("approved")));
}

TEST_F(OutcomeLines, AFindingIsAnIssueWithItsRuleItsTextsAndItsPlace) {
  const json got = resource(hold_verdict());
  ASSERT_EQ(got["issue"].size(), 3U);
  const json& finding = got["issue"][1];
  EXPECT_EQ(finding["severity"], "error");
  EXPECT_EQ(finding["code"], "business-rule");
  EXPECT_EQ(finding["details"]["text"],
            "50 mg at 200 mg/mL is 0.25 mL; the order says 0.5 mL. Which of the dose, the strength "
            "and the volume is meant?");
  EXPECT_EQ(finding["diagnostics"], "dose-volume-agreement (hold); common practice");
  EXPECT_EQ(finding["expression"], json::array({"/volume"}));
  EXPECT_FALSE(finding.contains("location"));
  const json& missing = got["issue"][2];
  EXPECT_EQ(missing["severity"], "information");
  EXPECT_EQ(missing["code"], "incomplete");
  EXPECT_EQ(missing["details"]["text"], "needle.gauge missing: 3 rules not assessed");
  EXPECT_EQ(missing["diagnostics"], "needle-thin, needle-force, draw");
}

TEST_F(OutcomeLines, TheFirstIssueHasTheSeverityOfTheOutcome) {
  const std::vector<std::tuple<Outcome, std::string, std::string>> rows = {
      {Outcome::Clear, "information", "informational"},
      {Outcome::Note, "information", "business-rule"},
      {Outcome::Caution, "warning", "business-rule"},
      {Outcome::Incomplete, "error", "incomplete"},
      {Outcome::Clarify, "error", "business-rule"},
      {Outcome::Hold, "error", "business-rule"},
      {Outcome::Outside, "information", "not-supported"},
      {Outcome::Recorded, "information", "informational"}};
  for (const auto& [outcome, severity, code] : rows) {
    engine::Verdict verdict = clear_verdict();
    verdict.outcome = outcome;
    const json first = resource(verdict)["issue"][0];
    EXPECT_EQ(first["severity"], severity) << engine::name(outcome);
    EXPECT_EQ(first["code"], code) << engine::name(outcome);
    EXPECT_THAT(std::string(first["details"]["text"]),
                HasSubstr(": " + std::string(engine::name(outcome)) + " ("));
  }
}

TEST_F(OutcomeLines, WhatCannotBeReadIsFatal) {
  engine::Verdict verdict = clear_verdict();
  verdict.order = {};
  verdict.patient = {};
  verdict.outcome = Outcome::Hold;
  engine::Finding& finding = verdict.add_finding();
  finding.rule = "unreadable";
  finding.grade = engine::Grade::Hold;
  finding.say = "the record is no JSON";
  const json got = resource(verdict);
  for (const std::size_t i : {0U, 1U}) {
    EXPECT_EQ(got["issue"][i]["severity"], "fatal");
    EXPECT_EQ(got["issue"][i]["code"], "structure");
  }
  EXPECT_THAT(std::string(got["issue"][0]["details"]["text"]),
              HasSubstr("A record without an order number: hold"));
}

TEST_F(OutcomeLines, ADoubtfulValueIsAValueIssue) {
  engine::Verdict verdict = hold_verdict();
  verdict.outcome = Outcome::Clarify;
  verdict.findings[0].rule = "doubtful-value";
  verdict.findings[0].grade = engine::Grade::Clarify;
  EXPECT_EQ(resource(verdict)["issue"][1]["code"], "value");
}

TEST_F(OutcomeLines, TextsHoldNoControlCharactersAndAreEscaped) {
  // FHIR R4, datatype string: no characters below 32 but for tab, CR and LF.
  engine::Verdict verdict = hold_verdict();
  verdict.findings[0].say = "a \"b\"\x1B[31m\tc";
  const std::string text = resource(verdict)["issue"][1]["details"]["text"];
  EXPECT_THAT(text, HasSubstr("a \"b\""));
  for (const char c : text)
    EXPECT_GE(static_cast<unsigned char>(c), 32);
}

TEST_F(OutcomeLines, WhatAnInputNeverCarriesIsALineOfItsOwn) {
  writer.begin({1, "sha256:00ff"});
  writer.begin_input("day.ndjson");
  writer.never_assessed({});
  EXPECT_TRUE(writer.finish());
  EXPECT_EQ(out, "");
  writer.never_assessed({{"needle.gauge", {"needle-thin"}, true}});
  EXPECT_TRUE(writer.finish());
  const json got = json::parse(out);
  ASSERT_EQ(got["issue"].size(), 2U);
  EXPECT_EQ(got["issue"][1]["code"], "not-supported");
  EXPECT_EQ(got["issue"][1]["details"]["text"],
            "needle.gauge: 1 rule not assessed, or only in part");
}

TEST_F(OutcomeLines, AFailedWriteIsSaid) {
  OutcomeWriter failing([](std::string_view) -> engine::Status {
    return engine::Error{engine::Errc::Input, "no space"};
  });
  failing.write(clear_verdict(), block, source);
  EXPECT_FALSE(failing.finish());
  EXPECT_TRUE(failing.failed());
}

}  // namespace
}  // namespace meniscus::adapters::fhir
