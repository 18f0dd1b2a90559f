// A FHIR order and the same order in the project's own JSON get the same findings.
//
// Judged with the shipped rules, both without what FHIR has no place for; compared are outcome,
// findings with their texts and blamed fields, and what was not assessed.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/adapters/fhir/fhir_reading.hpp"
#include "tests/rules/judging.hpp"

namespace meniscus::adapters::fhir {
namespace {

using testing::request_with;

std::string described(const engine::Verdict& verdict) {
  std::string text(engine::name(verdict.outcome));
  for (const engine::Finding& finding : verdict.findings) {
    text.append("\n").append(engine::name(finding.grade)).append(" ").append(finding.rule);
    text.append(": ").append(finding.say).append(" ").append(finding.ask);
    for (const engine::BlamedField& field : finding.fields)
      text.append(" [").append(engine::info(field.field).name).append("]");
  }
  for (const engine::NotAssessed& missing : verdict.not_assessed) {
    text.append("\n? ").append(missing.missing);
    for (const std::string_view rule : missing.rules)
      text.append(" ").append(rule);
  }
  return text;
}

std::string judged(engine::OrderSource& source, engine::FieldSet never_carries) {
  const auto program = rules_tests::shipped_program();
  engine::CheckOptions options;
  options.today = rules_tests::kToday;
  options.slips = false;
  options.never_carries = never_carries;
  engine::Checker checker(program, options);
  engine::History history(program->look_back, program->history_fields, program->history_written);
  engine::OrderBlock block;
  std::string text;
  while (source.next(block))
    checker.check(block, history,
                  [&](const engine::Verdict& verdict) { text += described(verdict) + "\n"; });
  return text;
}

struct Pair {
  std::string_view name;
  std::string fhir;
  std::string_view own;
  std::string_view finds;  // what must be among the findings, so that equal is not empty
};
class FhirAndOwn : public ::testing::TestWithParam<Pair> {};
TEST_P(FhirAndOwn, GetTheSameFindings) {
  const auto program = rules_tests::shipped_program();
  ASSERT_NE(program, nullptr);
  const engine::Feed feed;
  const engine::ReadContext context{program.get(), &feed};
  const auto fhir = make_fhir_source(tests::input_of(GetParam().fhir), context);
  const auto own = make_json_source(tests::input_of(GetParam().own), context);
  const engine::FieldSet never = fhir->never_carries();
  const std::string of_fhir = judged(*fhir, never);
  EXPECT_EQ(of_fhir, judged(*own, never));
  EXPECT_THAT(of_fhir, ::testing::HasSubstr(std::string(GetParam().finds)));
}

std::string order(std::string_view dosage, std::string_view members = "") {
  return request_with(R"("authoredOn":"2026-03-02","medicationCodeableConcept":{"text":)"
                      R"("testosterone cypionate 200 mg/mL"},"dosageInstruction":[{)" +
                      std::string(dosage) + "}]" + std::string(members));
}
constexpr std::string_view kWeekly =
    R"("timing":{"repeat":{"frequency":1,"period":1,"periodUnit":"wk"}})";

INSTANTIATE_TEST_SUITE_P(
    Pairs, FhirAndOwn,
    ::testing::Values(
        Pair{
            "DoseAgainstVolume",
            order(std::string(kWeekly) +
                  R"(,"text":"Inject 0.5 mL","route":{"text":"IM"},"site":{"text":"left deltoid"},)"
                  R"("doseAndRate":[{"doseQuantity":{"value":50,"unit":"mg",)"
                  R"("system":"http://unitsofmeasure.org","code":"mg"}}])"),
            R"({"order":{"id":"rx1","status":"active","placed":"2026-03-02",
                 "directions":"Inject 0.5 mL"},
                 "patient":{"id":"SM-0012"},
                 "substance":{"name":"testosterone cypionate 200 mg/mL"},
                 "dose":"50 mg","route":"IM","site":"deltoid","side":"left",
                 "schedule":{"every":"1 wk"}})",
            "dose-volume-agreement: 50 mg at 200 mg/mL is 0.25 mL; the order says 0.5 mL."},
        Pair{"AVolumeThatIsTooMuchForASite",
             order(std::string(kWeekly) +
                   R"(,"route":{"coding":[{"system":"http://snomed.info/sct",)"
                   R"("code":"263887005"}]},"doseAndRate":[{"doseQuantity":{"value":3,)"
                   R"("unit":"ml","system":"http://unitsofmeasure.org","code":"mL"}}])"),
             R"({"order":{"id":"rx1","status":"active","placed":"2026-03-02"},
                 "patient":{"id":"SM-0012"},
                 "substance":{"name":"testosterone cypionate 200 mg/mL"},
                 "dose":"3 mL","volume":"3 mL","route":"subcutaneous",
                 "schedule":{"every":"1 wk"}})",
             "site-volume"},
        Pair{"ACompletedOrder",
             request_with(R"("status":"completed","authoredOn":"2026-03-02",)"
                          R"("medicationCodeableConcept":{"text":"insulin glargine"},)"
                          R"("dosageInstruction":[{"route":{"text":"SC"},"doseAndRate":[)"
                          R"({"doseQuantity":{"value":20,"unit":"units"}}]}])"),
             R"({"order":{"id":"rx1","status":"completed","placed":"2026-03-02"},
                 "patient":{"id":"SM-0012"},"substance":{"name":"insulin glargine"},
                 "dose":"20 units","route":"SC"})",
             "order-state: The order is completed."},
        Pair{"TextAgainstCode",
             order(std::string(kWeekly) +
                   R"(,"text":"100 mg every 2 weeks","route":{"text":"IM"},)"
                   R"("doseAndRate":[{"doseQuantity":{"value":50,"unit":"mg"}}])"),
             R"({"order":{"id":"rx1","status":"active","placed":"2026-03-02",
                 "directions":"100 mg every 2 weeks"},"patient":{"id":"SM-0012"},
                 "substance":{"name":"testosterone cypionate 200 mg/mL"},
                 "dose":"50 mg","route":"IM","schedule":{"every":"1 wk"}})",
             "text-against-code"},
        Pair{"APlanInSteps",
             request_with(
                 R"("authoredOn":"2026-03-02","medicationCodeableConcept":{"text":)"
                 R"("semaglutide"},"dosageInstruction":[{"sequence":2,"route":{"text":"SC"},)"
                 R"("doseAndRate":[{"doseQuantity":{"value":4,"unit":"mg"}}]},)"
                 R"({"sequence":1,"route":{"text":"SC"},)"
                 R"("doseAndRate":[{"doseQuantity":{"value":0.25,"unit":"mg"}}]}])"),
             R"({"order":{"id":"rx1","status":"active","placed":"2026-03-02"},
                 "patient":{"id":"SM-0012"},"substance":{"name":"semaglutide"},"route":"SC",
                 "schedule":{"steps":[{"dose":"0.25 mg"},{"dose":"4 mg"}]}})",
             "steps: A step of the plan"},
        Pair{"AnInjectionThatWasGivenThereTheDayBefore",
             R"({"resourceType":"MedicationAdministration","id":"g1","status":"completed",
                 "medicationCodeableConcept":{"text":"testosterone cypionate 200 mg/mL"},
                 "subject":{"reference":"Patient/SM-0012"},"effectiveDateTime":"2026-03-01",
                 "dosage":{"route":{"text":"SC"},"site":{"text":"left abdomen"},
                 "dose":{"value":50,"unit":"mg"}}})"
             "\n" +
                 order(R"("route":{"text":"SC"},"site":{"coding":[{"code":"LLAQ"}],)"
                       R"("text":"left abdomen"},"doseAndRate":[)"
                       R"({"doseQuantity":{"value":50,"unit":"mg"}}])"),
             R"({"order":{"id":"g1","action":"given","given":"2026-03-01"},
                 "patient":{"id":"SM-0012"},
                 "substance":{"name":"testosterone cypionate 200 mg/mL"},
                 "dose":"50 mg","route":"SC","site":"abdomen","side":"left"}
{"order":{"id":"rx1","status":"active","placed":"2026-03-02"},
                 "patient":{"id":"SM-0012"},
                 "substance":{"name":"testosterone cypionate 200 mg/mL"},
                 "dose":"50 mg","route":"SC","site":"abdomen-lower","side":"left"})",
             "site-rest"}),
    [](const auto& info) { return std::string(info.param.name); });

}  // namespace
}  // namespace meniscus::adapters::fhir
