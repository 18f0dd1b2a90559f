// Verdicts as JSON Lines.
//
// Checked against: the line that docs/integrator.md shows, letter for letter; the schema
// (docs/schemas/verdict.schema.json) is checked with python3-jsonschema in tests/golden.
#include "adapters/report/jsonl_writer.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <string>

#include "tests/adapters/report/sample_verdict.hpp"

namespace meniscus::adapters {
namespace {
using testing::clear_verdict;
using testing::FixedSource;
using testing::hold_verdict;

class JsonLines : public ::testing::Test {
 protected:
  std::string line(const engine::Verdict& verdict, std::size_t inputs = 1) {
    std::string out;
    JsonLinesWriter writer(
        [&](std::string_view bytes) -> engine::Status {
          out += bytes;
          return engine::Done{};
        },
        "sha256:00ff");
    writer.begin({inputs, "sha256:00ff"});
    writer.begin_input("day.ndjson");
    writer.write(verdict, block_, source_);
    EXPECT_TRUE(writer.finish());
    return out;
  }

  engine::OrderBlock block_;
  FixedSource source_;
};

TEST_F(JsonLines, ClearOrderIsOneShortLine) {
  EXPECT_EQ(line(clear_verdict()),
            R"({"order":"A-102","patient":"SM-0012","outcome":"clear","findings":[],"slips":[],)"
            R"("not_assessed":[],"muted":[],"as_of":"2026-03-02","history":"input",)"
            R"("rules":"sha256:00ff"})"
            "\n");
}

TEST_F(JsonLines, SlipHasItsFieldBothValuesItsReasonAndWhatItClears) {
  engine::Verdict verdict = clear_verdict();
  engine::Slip& slip = verdict.add_slip();
  slip.field = engine::FieldId::Strength;
  slip.from = "200 mg/mL";
  slip.to = "100 mg/mL";
  slip.why = "say \"why\"";
  slip.clears = {"dose-volume-agreement", "product"};
  EXPECT_THAT(
      line(verdict),
      ::testing::HasSubstr(R"("findings":[],"slips":[{"field":"strength","from":"200 mg/mL",)"
                           R"("to":"100 mg/mL","why":"say \"why\"",)"
                           R"("clears":["dose-volume-agreement","product"]}],"not_assessed")"));
}

TEST_F(JsonLines, FindingHasItsRuleItsTextsAndItsPlace) {
  EXPECT_EQ(
      line(hold_verdict()),
      R"({"order":"A-102","patient":"SM-0012","outcome":"hold","findings":[)"
      R"({"rule":"dose-volume-agreement","grade":"hold","group":1,)"
      R"("say":"50 mg at 200 mg/mL is 0.25 mL; the order says 0.5 mL.",)"
      R"("ask":"Which of the dose, the strength and the volume is meant?","cite":"common practice",)"
      R"("fields":[{"name":"volume","value":"0.5 mL","at":"/volume","line":12,"column":30}]}],)"
      R"("slips":[],"not_assessed":[{"missing":"needle.gauge",)"
      R"("rules":["needle-thin","needle-force","draw"]}],"muted":[],"as_of":"2026-03-02",)"
      R"("history":"input","rules":"sha256:00ff"})"
      "\n");
}

TEST_F(JsonLines, MarksWhatWasReadOutOfText) {
  engine::Verdict verdict = hold_verdict();
  verdict.findings[0].fields[0].from_text = true;
  const auto parsed = nlohmann::json::parse(line(verdict));
  EXPECT_EQ(parsed["findings"][0]["fields"][0]["from"], "text");
}

TEST_F(JsonLines, FindingWithoutFieldsNamesItsRecord) {
  engine::Verdict verdict = hold_verdict();
  verdict.findings[0].fields.clear();
  const auto parsed = nlohmann::json::parse(line(verdict));
  EXPECT_EQ(parsed["findings"][0]["place"]["line"], 7);
  EXPECT_TRUE(parsed["findings"][0]["fields"].empty());
}

TEST_F(JsonLines, SaysWhyAnOrderIsOutsideAndWhichFileItIsIn) {
  engine::Verdict verdict = clear_verdict();
  verdict.outcome = engine::Outcome::Outside;
  verdict.reason = "route is oral";
  verdict.history = engine::HistoryScope::Store;
  const auto parsed = nlohmann::json::parse(line(verdict, 2));
  EXPECT_EQ(parsed["outcome"], "outside");
  EXPECT_EQ(parsed["reason"], "route is oral");
  EXPECT_EQ(parsed["history"], "store");
  EXPECT_EQ(parsed["file"], "day.ndjson");
}

TEST_F(JsonLines, TheDayFollowsTheOrder) {
  std::string out;
  JsonLinesWriter writer(
      [&](std::string_view bytes) -> engine::Status {
        out += bytes;
        return engine::Done{};
      },
      "sha256:00ff");
  writer.begin({});
  engine::Verdict verdict = clear_verdict();
  writer.write(verdict, block_, source_);
  verdict.as_of_day += 1;
  writer.write(verdict, block_, source_);
  writer.flush();
  EXPECT_NE(out.find("\"as_of\":\"2026-03-02\""), std::string::npos);
  EXPECT_NE(out.find("\"as_of\":\"2026-03-03\""), std::string::npos);
}

}  // namespace
}  // namespace meniscus::adapters
