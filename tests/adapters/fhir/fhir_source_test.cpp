// Orders from FHIR R4: the published examples, what refers to what, what is in doubt.
//
// Checked against: the examples of the FHIR R4 specification (tests/fixtures/fhir/README.md); what
//          each says was read off the example by eye and stands here in the project's own JSON,
//          whose reader is tested by itself.  Orders without a file name are our own.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/adapters/fhir/fhir_reading.hpp"

namespace meniscus::adapters::fhir {
namespace {

using engine::RecordKind;
using ::testing::AllOf;
using ::testing::Contains;
using ::testing::ElementsAre;
using testing::fhir_example;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;
using testing::read_fhir;
using testing::read_own;
using testing::request_with;
using ::testing::SizeIs;
using ::testing::StartsWith;
using tests::ReadOrder;

struct Example {
  std::string_view name;
  std::string_view file;
  std::string_view own;  // the same order in our JSON
};
class FhirExamples : public ::testing::TestWithParam<Example> {};
TEST_P(FhirExamples, SayWhatStandsInThem) {
  const auto orders = read_fhir(fhir_example(std::string(GetParam().file)));
  ASSERT_FALSE(orders.empty());
  EXPECT_EQ(orders.front().kind, RecordKind::Order) << orders.front().reason;
  EXPECT_EQ(orders.front().values, read_own(GetParam().own).values);
  EXPECT_THAT(orders.front().doubts, IsEmpty());
}
INSTANTIATE_TEST_SUITE_P(
    Of, FhirExamples,
    ::testing::Values(
        // Subcutaneous as 263887005; UCUM `U` for units of insulin.
        Example{"Insulin", "MedicationRequest-medrx0320",
                R"j({"order":{"id":"medrx0320","placed":"2015-01-15","status":"completed",
                    "directions":"20 Units SC three times daily","prescriber":"f007",
                    "indication":"On subcutaneous insulin for diabetes mellitus (finding)"},
                    "patient":{"id":"pat1"},
                    "substance":{"name":"GLARGP 100 unit/ml injectable solution","code":"285018"},
                    "dose":"20 U","route":"subcutaneous",
                    "schedule":{"every":"1 d","times":3},"supply":{
  "refills" : 6}
})j"},
        // Intramuscular as 255559005; count 1 is a single dose.
        Example{"Ceftriaxone", "MedicationRequest-medrx0332",
                R"j({"order":{"id":"medrx0332","placed":"2015-01-15","status":"active",
                    "directions":"Administer 500mg IM as a single dose","prescriber":"f007"},
                    "patient":{"id":"pat1"},
                    "substance":{"name":
                      "Ceftriaxone sodium 500mg powder for injection solution vial (product)"},
                    "dose":"500 mg","route":"intramuscular","schedule":{
  "every" : null
}
})j"},
        // A dose for each kilogram; the form and the expiry of the contained Medication.
        Example{"PerWeight", "MedicationRequest-medrx0316",
                R"j({"order":{"id":"medrx0316","placed":"2015-01-15","status":"completed",
                    "directions":
                      "1.8 mg/kg IV infusion over 20 minutes every 3 weeks for 16 cycles",
                    "prescriber":"f007"},"patient":{"id":"pat1"},
                    "substance":{"name":"BRENTUXB","code":"51144-050-01",
                    "form":"Lyophilized powder for injectable solution (qualifier value)"},
                    "vial":{"expires":"2019-10-31"},
                    "dose-per-weight":"1.8 mg/kg","route":"intravenous",
                    "schedule":{
  "every" : "3 wk"
}
})j"},
        // The note stands behind the directions.
        Example{"Vancomycin", "MedicationRequest-medrx0318",
                R"j({"order":{"id":"medrx0318","placed":"2015-01-15","status":"active",
                    "directions":
"500mg IV q6h x 3 days; culture expected back in 12 hours - may switch depending on results",
                    "prescriber":"f007","indication":"Traveller's Diarrhea (disorder)"},
                    "patient":{"id":"pat1"},
                    "substance":{"name":
                      "Vancomycin Hydrochloride (VANCOMYCIN HYDROCHLORIDE)","code":"0069-2587-10"},
                    "dose":"500 mg","route":"intravenous","schedule":{
  "every" : "6 h"
}
})j"},
        // Given: 20 units by the order medrx0320.
        Example{"Given", "MedicationAdministration-medadmin0308",
                R"j({"order":{"id":"medadmin0308","action":"given","fulfils":"medrx0320",
                    "given":"2015-01-15T04:30:00+01:00",
                    "directions":"20 Units SC before breakfast"},"patient":{"id":"pat1"},
                    "substance":{"name":"GLARGP 100 unit/ml injectable solution","code":"285018"},
                    "dose":"20 U","route":"subcutaneous"})j"},
        // Dispensed: the order's number is that of the prescription.
        Example{"Dispensed", "MedicationDispense-meddisp0302",
                R"j({"order":{"id":"medrx0321","filler":"meddisp0302",
                    "placed":"2015-01-15T16:20:00Z",
                    "directions":"Before Breakfast; Check sugar level before taking ASPARTP"},
                    "patient":{"id":"pat1"},
                    "substance":{"name":"ASPARTP 100u/ml","code":"0169-7501-11",
                    "form":"Injection solution (qualifier value)"},
                    "supplied":{"substance":"0169-7501-11","strength":"100 U/mL"},
                    "vial":{"expires":"2019-10-31"},"strength":"100 U/mL",
                    "dose":"10 U","schedule":{
  "every" : "1 d"
}
})j"}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(FhirSource, InstructionsOneAfterTheOtherAreTheStepsOfOneOrder) {
  // medrx0317: sequence 1, 2, 3 with 3 mg, 10 mg, 30 mg three times a week.
  const auto orders = read_fhir(fhir_example("MedicationRequest-medrx0317"));
  ASSERT_THAT(orders, SizeIs(1));
  const auto steps = read_own(R"({"schedule":{"steps":[{"dose":"3 mg","every":"56 h"},
      {"dose":"10 mg","every":"56 h"},{"dose":"30 mg","every":"56 h"}]}})");
  EXPECT_THAT(orders[0].values, Contains(steps.values.front()));
  EXPECT_THAT(orders[0].values, Not(Contains(StartsWith("dose ="))));
}

TEST(FhirSource, InstructionsBesideOneAnotherAreAnOrderEach) {
  // meddisp0302: sequence 1, 1, 1 with 10, 15 and 20 units.
  const auto orders = read_fhir(fhir_example("MedicationDispense-meddisp0302"));
  ASSERT_THAT(orders, SizeIs(3));
  for (const auto& [index, id, dose] :
       {std::tuple{0, "medrx0321", "10 U"}, std::tuple{1, "medrx0321#2", "15 U"},
        std::tuple{2, "medrx0321#3", "20 U"}}) {
    const auto own =
        read_own(R"({"order":{"id":")" + std::string(id) + R"("},"dose":")" + dose + "\"}");
    for (const std::string& value : own.values)
      EXPECT_THAT(orders[static_cast<std::size_t>(index)].values, Contains(value));
  }
}

TEST(FhirSource, InstructionsWithoutASequenceAreInDoubt) {
  const auto orders = read_fhir(
      request_with(R"("dosageInstruction":[{"text":"50 mg weekly"},{"text":"100 mg weekly"}])"));
  ASSERT_THAT(orders, SizeIs(1));
  EXPECT_THAT(orders[0].doubts, Contains(HasSubstr("dose: several dosage instructions")));
}

TEST(FhirSource, AUnitThatIsNotUcumIsInDoubt) {
  // medrx0322 writes `mEq` and says UCUM; UCUM's code is `meq` (medadmin0302).
  const auto wrong = read_fhir(fhir_example("MedicationRequest-medrx0322"));
  EXPECT_THAT(wrong.front().doubts,
              Contains("dose: `mEq` is no UCUM unit, though the order says so"));
  const auto right = read_fhir(fhir_example("MedicationAdministration-medadmin0302"));
  EXPECT_THAT(right.front().doubts, IsEmpty());
  EXPECT_THAT(right.front().values, Contains(read_own(R"({"dose":"20 meq"})").values.front()));
}

struct NoOrder {
  std::string_view name;
  std::string_view file;
  std::string_view reason;
};
class FhirOutside : public ::testing::TestWithParam<NoOrder> {};
TEST_P(FhirOutside, SaysWhy) {
  const auto orders = read_fhir(fhir_example(std::string(GetParam().file)));
  ASSERT_THAT(orders, SizeIs(1));
  EXPECT_EQ(orders[0].kind, RecordKind::Outside);
  EXPECT_THAT(orders[0].reason, HasSubstr(std::string(GetParam().reason)));
}
INSTANTIATE_TEST_SUITE_P(Of, FhirOutside,
                         ::testing::Values(NoOrder{"Oral", "MedicationRequest-medrx0302", "oral"},
                                           NoOrder{"EnteredInError",
                                                   "MedicationAdministration-medadmin0303",
                                                   "entered in error"},
                                           NoOrder{"AnswersToOthers", "OperationOutcome-exception",
                                                   "`OperationOutcome` is no medication order"}),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(FhirSource, AReferenceThatLeadsNowhereIsInDoubt) {
  // medrx002: Medication/med0316 is not in the example.
  const auto orders = read_fhir(fhir_example("MedicationRequest-medrx002"));
  EXPECT_THAT(orders.front().doubts,
              ElementsAre("substance.code: `Medication/med0316` is not in the input"));
}

// ---- a Bundle

constexpr std::string_view kBundle = R"({"resourceType":"Bundle","type":"collection","entry":[
 {"fullUrl":"urn:uuid:0c3151bd-1cbf-4d64-b04d-cd9187a4c6e0","resource":
  {"resourceType":"MedicationRequest","identifier":[{"value":"A-7"}],
   "status":"active","intent":"order",
   "medicationReference":{"reference":"Medication/m1"},
   "subject":{"reference":"urn:uuid:5a1e4fbc-7b2c-4a0e-9f6e-3f3b1b5a7a01"},
   "dosageInstruction":[{"route":{"coding":[
     {"system":"http://terminology.hl7.org/CodeSystem/v3-RouteOfAdministration","code":"IM"}]},
    "site":{"text":"left deltoid"},
    "doseAndRate":[{"doseQuantity":{"value":100.50,"unit":"mg"}}]}]}},
 {"fullUrl":"http://example.org/fhir/Medication/m1","resource":
  {"resourceType":"Medication","id":"m1","code":{"text":"testosterone cypionate"},
   "ingredient":[{"itemCodeableConcept":{"text":"testosterone cypionate"},"strength":
    {"numerator":{"value":200,"system":"http://unitsofmeasure.org","code":"mg"},
     "denominator":{"value":1,"system":"http://unitsofmeasure.org","code":"mL"}}}]}},
 {"fullUrl":"urn:uuid:5a1e4fbc-7b2c-4a0e-9f6e-3f3b1b5a7a01","resource":
  {"resourceType":"Patient","id":"p1","identifier":[{"value":"X-1"},
   {"type":{"coding":[{"code":"MR"}]},"value":"SM-0012"}],"gender":"male",
   "birthDate":"1988-04-02"}},
 {"resource":{"resourceType":"Observation","status":"final","code":{"coding":[
   {"system":"http://loinc.org","code":"29463-7"}]},
   "subject":{"reference":"Patient/p1"},"effectiveDateTime":"2026-02-20",
   "valueQuantity":{"value":71,"system":"http://unitsofmeasure.org","code":"kg"}}},
 {"resource":{"resourceType":"Observation","status":"final","code":{"coding":[
   {"system":"http://loinc.org","code":"29463-7"}]},
   "subject":{"reference":"Patient/p1"},"effectiveDateTime":"2025-02-20",
   "valueQuantity":{"value":65,"system":"http://unitsofmeasure.org","code":"kg"}}},
 {"resource":{"resourceType":"Observation","status":"final","code":{"coding":[
   {"system":"http://loinc.org","code":"29463-7"}]},
   "subject":{"reference":"Patient/other"},"effectiveDateTime":"2026-03-01",
   "valueQuantity":{"value":50,"system":"http://unitsofmeasure.org","code":"kg"}}},
 {"resource":{"resourceType":"AllergyIntolerance","patient":{"reference":"Patient/p1"},
   "code":{"text":"sesame-oil"}}},
 {"resource":{"resourceType":"AllergyIntolerance","patient":{"reference":"Patient/p1"},
   "verificationStatus":{"coding":[{"code":"refuted"}]},"code":{"text":"peanut-oil"}}},
 {"resource":{"resourceType":"Procedure","id":"x"}},
 {"resource":7},
 {"resource":{"resourceType":"MedicationRequest","id":"rx9","status":"active","intent":"order",
   "subject":{"reference":"Patient/p1"}}}]})";

TEST(FhirBundle, HoldsOrdersAndWhatTheyReferTo) {
  const auto orders = read_fhir(kBundle);
  ASSERT_THAT(orders, SizeIs(4));
  const auto own = read_own(R"({"order":{"id":"A-7","status":"active"},
    "patient":{"id":"SM-0012","born":"1988-04-02","sex":"male","weight":"71 kg",
     "weighed":"2026-02-20","allergies":["sesame-oil"]},
    "substance":{"name":"testosterone cypionate","code":"testosterone cypionate"},
    "strength":"200 mg/mL","dose":"100.5 mg","route":"intramuscular","site":"deltoid",
    "side":"left"})");
  EXPECT_EQ(orders[0].values, own.values);
  EXPECT_THAT(orders[0].doubts, IsEmpty());
  EXPECT_EQ(orders[1].kind, RecordKind::Unreadable);  // the entry that is a number
  EXPECT_EQ(orders[1].place.at, "Bundle.entry[9].resource");
  EXPECT_EQ(orders[2].kind, RecordKind::Unreadable);
  EXPECT_EQ(orders[2].reason, "the order names no medicine");
  EXPECT_EQ(orders[3].kind, RecordKind::Outside);
  EXPECT_THAT(orders[3].reason, HasSubstr("Procedure 1"));
}

TEST(FhirBundle, PlacesAreFhirPaths) {
  const auto orders = read_fhir(kBundle);
  EXPECT_THAT(orders[0].fields,
              Contains(HasSubstr("`100.50 mg` at Bundle.entry[0].resource.dosageInstruction[0]"
                                 ".doseAndRate[0].dose.value 10:")));
  EXPECT_THAT(orders[0].fields, Contains(HasSubstr("at Bundle.entry[3].resource.value.value 23:")));
  EXPECT_EQ(orders[2].place.at, "Bundle.entry[10].resource");
}

TEST(FhirBundle, AModifierExtensionOfTheMedicationIsInDoubt) {
  const auto orders =
      read_fhir(R"({"resourceType":"Bundle","entry":[{"resource":)" +
                request_with(R"("medicationReference":{"reference":"Medication/m1"},)"
                             R"("_medicationCodeableConcept":{"id":"none"})") +
                R"(},{"resource":{"resourceType":"Medication","id":"m1","code":{"text":"x"},)"
                R"("modifierExtension":[{"url":"http://x"}]}}]})");
  EXPECT_THAT(orders[0].doubts, ElementsAre(HasSubstr("a modifierExtension")));
}

// ---- a dispense beside its prescription (FHIR R4, MedicationDispense.authorizingPrescription)

std::string dispensed(std::string_view members, std::string_view patient = "p1") {
  return R"({"resourceType":"Bundle","entry":[{"resource":{"resourceType":"MedicationRequest",
    "id":"rx1","status":"active","intent":"order","authoredOn":"2026-03-02",
    "medicationCodeableConcept":{"text":"testosterone cypionate 200 mg/mL"},
    "subject":{"reference":"Patient/p1"},
    "dispenseRequest":{"quantity":{"value":4,"unit":"vial"},"numberOfRepeatsAllowed":2},
    "note":[{"text":"Mondays"}],
    "dosageInstruction":[{"route":{"text":"intramuscular"},
     "timing":{"repeat":{"frequency":1,"period":1,"periodUnit":"wk"}},
     "doseAndRate":[{"doseQuantity":{"value":60,"unit":"mg"}}]}]}},
   {"resource":{"resourceType":"MedicationDispense","id":"d1","status":"completed",
    "contained":[{"resourceType":"Medication","id":"m","code":{"text":"testosterone cypionate"},
     "batch":{"lotNumber":"L1","expirationDate":"2026-01-31"}}],
    "medicationReference":{"reference":"#m"},
    "authorizingPrescription":[{"reference":"MedicationRequest/rx1"}],
    "subject":{"reference":"Patient/)" +
         std::string(patient) + R"("})" + std::string(members) + "}}]}";
}

std::string instruction(std::string_view dose, std::string_view unit, std::string_view route) {
  return R"(,"dosageInstruction":[{"route":{"text":")" + std::string(route) +
         R"("},"timing":{"repeat":{"frequency":1,"period":1,"periodUnit":")" + std::string(unit) +
         R"("}},"doseAndRate":[{"doseQuantity":{"value":)" + std::string(dose) +
         R"(,"unit":"mg"}}]}])";
}

TEST(FhirDispense, WhatIsHandedOutExpiresAndWhatWasOrderedStays) {
  const auto order = read_fhir(dispensed("")).at(1);
  EXPECT_THAT(order.values, Contains(HasSubstr("vial.expires = ")));
  EXPECT_THAT(order.values, Contains(HasSubstr("supply.vials = 4")));
  EXPECT_THAT(order.values, Contains(HasSubstr("supply.refills = 2")));
  EXPECT_THAT(order.values, Contains(HasSubstr("order.directions = 0.000000 Mondays")));
  EXPECT_THAT(order.doubts, IsEmpty());
}

TEST(FhirDispense, TheSameInstructionSaysNothingTwice) {
  const auto order = read_fhir(dispensed(instruction("60", "wk", "intramuscular"))).at(1);
  EXPECT_THAT(order.values, Not(Contains(HasSubstr("stated."))));
  EXPECT_THAT(order.doubts, IsEmpty());
}

TEST(FhirDispense, AnotherDoseIntervalOrRouteThanPrescribedIsKept) {
  const auto dose = read_fhir(dispensed(instruction("80", "wk", "intramuscular"))).at(1);
  EXPECT_THAT(dose.fields, Contains(AllOf(HasSubstr("stated.dose = "), HasSubstr("`60 mg`"))));
  const auto interval = read_fhir(dispensed(instruction("60", "d", "intramuscular"))).at(1);
  EXPECT_THAT(interval.values, Contains(HasSubstr("stated.every = 604800")));
  const auto route = read_fhir(dispensed(instruction("60", "wk", "subcutaneous"))).at(1);
  EXPECT_THAT(route.values, Contains(HasSubstr("stated.route = 0.000000 intramuscular")));
}

TEST(FhirDispense, ASingleDoseForARepeatedOneIsInDoubt) {
  const auto order =
      read_fhir(dispensed(R"(,"dosageInstruction":[{"timing":{"repeat":{"count":1}},)"
                          R"("doseAndRate":[{"doseQuantity":{"value":60,"unit":"mg"}}]}])"))
          .at(1);
  EXPECT_THAT(order.doubts, ElementsAre(HasSubstr("schedule.every: the prescription says a rep")));
}

TEST(FhirDispense, WhatTheDispenseLeavesOutIsThePrescriptions) {
  const auto order = read_fhir(dispensed(R"(,"dosageInstruction":[{"text":"as before"}])")).at(1);
  EXPECT_THAT(order.values, Contains(HasSubstr("schedule.every = 604800")));
  EXPECT_THAT(order.fields, Contains(AllOf(HasSubstr("dose = "), HasSubstr("`60 mg`"))));
}

TEST(FhirDispense, ToAnotherPatientIsInDoubt) {
  const auto order = read_fhir(dispensed("", "p2")).at(1);
  EXPECT_THAT(order.doubts, ElementsAre(HasSubstr("patient.id: it is dispensed to another")));
}

TEST(FhirBundle, WithoutAnOrderSaysSo) {
  const auto orders =
      read_fhir(R"({"resourceType":"Bundle","type":"searchset","entry":[{"resource":)"
                R"({"resourceType":"Patient","id":"p1"}}]})");
  ASSERT_THAT(orders, SizeIs(1));
  EXPECT_EQ(orders[0].kind, RecordKind::Outside);
  EXPECT_EQ(orders[0].reason, "the Bundle holds no medication order");
}

TEST(FhirBundle, OfMoreOrdersThanABlockHolds) {
  std::string text = R"({"resourceType":"Bundle","entry":[)";
  for (int i = 0; i < 150; ++i)
    text += std::string(i == 0 ? "" : ",") + "{\"resource\":" + request_with("") + "}";
  EXPECT_THAT(read_fhir(text + "]}"), SizeIs(150));
}

// ---- doubt

struct Doubtful {
  std::string_view name;
  std::string members;
  std::string_view doubt;
};
class FhirDoubts : public ::testing::TestWithParam<Doubtful> {};
TEST_P(FhirDoubts, AreSaid) {
  const auto orders = read_fhir(request_with(GetParam().members));
  ASSERT_THAT(orders, SizeIs(1));
  EXPECT_EQ(orders[0].kind, RecordKind::Order);
  EXPECT_THAT(orders[0].doubts, Contains(HasSubstr(std::string(GetParam().doubt))));
}
std::string dosage(std::string_view members) {
  return "\"dosageInstruction\":[{" + std::string(members) + "}]";
}
std::string dose(std::string_view members) {
  return dosage("\"doseAndRate\":[{\"doseQuantity\":{" + std::string(members) + "}}]");
}
INSTANTIATE_TEST_SUITE_P(
    Of, FhirDoubts,
    ::testing::Values(
        Doubtful{"ModifierExtension", R"("modifierExtension":[{"url":"http://x","valueCode":"y"}])",
                 "order.id: a modifierExtension"},
        Doubtful{"ModifierExtensionInside",
                 dosage(R"("modifierExtension":[{"url":"http://x","valueCode":"y"}])"),
                 "a modifierExtension"},
        Doubtful{"ImplicitRules", R"("implicitRules":"http://x")", "implicitRules"},
        Doubtful{"StatusUnknown", R"("status":"unknown")", "order.status: the sender"},
        Doubtful{"StatusOfNone", R"("status":"actve")", "`actve` is no status of FHIR"},
        Doubtful{"IntentOfNone", R"("intent":"wish")", "`wish` is no intent of FHIR"},
        Doubtful{"Key", dosage(R"("doseAndRat":[])"), "; `doseAndRate` may be meant"},
        Doubtful{"KeyOfStu3", dosage(R"("doseQuantity":{"value":1,"unit":"mg"})"),
                 "FHIR has no element `doseQuantity` here"},
        Doubtful{"Comparator", dose(R"("value":5,"comparator":"<","unit":"mg")"),
                 "dose: the value is only a bound"},
        Doubtful{"NumberAsText", dose(R"("value":"5","unit":"mg")"),
                 "dose: text where a number is needed"},
        Doubtful{"NoUnit", dose(R"("value":5)"), "dose: "},
        Doubtful{"UnitAgainstCode",
                 dose(R"("value":5,"unit":"g","system":"http://unitsofmeasure.org","code":"mg")"),
                 "dose: the unit's code is `mg`, its text `g`"},
        // UCUM: MG is the megagauss, whatever a sender means by it.
        Doubtful{"UcumOfAnotherKind",
                 dose(R"("value":5,"unit":"mg","system":"http://unitsofmeasure.org","code":"MG")"),
                 "dose: `MG` is no"},
        Doubtful{"TwoDoses",
                 dosage(R"("doseAndRate":[{"doseQuantity":{"value":5,"unit":"mg"}},)"
                        R"({"doseQuantity":{"value":6,"unit":"mg"}}])"),
                 "dose: the instruction says two doses"},
        Doubtful{"NoLowerEnd",
                 dosage(R"("doseAndRate":[{"doseRange":{"high":{"value":6,"unit":"mg"}}}])"),
                 "dose: the range of the dose has no lower end"},
        Doubtful{"TwoRoutes",
                 dosage(R"("route":{"coding":[{"system":"http://snomed.info/sct",)"
                        R"("code":"263887005"}],"text":"IM"})"),
                 "route: its codes and texts name two routes"},
        Doubtful{"TwoSides", dosage(R"("site":{"coding":[{"code":"LD"}],"text":"right deltoid"})"),
                 "side: its codes and texts name two sides"},
        Doubtful{"GivenAsText", R"("authoredOn":"01/15/2015")", "order.placed: "}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(FhirSource, DecimalsStayAsTheyAreWritten) {
  // FHIR R4, datatype decimal: the precision of the value is part of it.
  const auto orders = read_fhir(request_with(dose(R"("value":1.000,"unit":"mg")")));
  EXPECT_THAT(orders[0].fields, Contains(HasSubstr("dose = 1.000000  aux ")));
  EXPECT_THAT(orders[0].fields, Contains(HasSubstr("`1.000 mg`")));
  const auto exponent = read_fhir(request_with(dose(R"("value":2.5e1,"unit":"mg")")));
  EXPECT_THAT(exponent[0].values, Contains(read_own(R"({"dose":"25 mg"})").values.front()));
}

TEST(FhirSource, ARangeHasTwoEnds) {
  const auto orders = read_fhir(
      request_with(dosage(R"("doseAndRate":[{"doseRange":{"low":{"value":50,"unit":"mg"},)"
                          R"("high":{"value":100,"unit":"mg"}}}])")));
  for (const std::string& value : read_own(R"({"dose":"50 mg","dose-high":"100 mg"})").values)
    EXPECT_THAT(orders[0].values, Contains(value));
}

TEST(FhirSource, TheOrderedDoseCountsBeforeTheCalculatedOne) {
  const auto with = [&](std::string_view ordered, std::string_view calculated) {
    const auto part = [](std::string_view type, std::string_view quantity) {
      return R"({"type":{"coding":[{"code":")" + std::string(type) + R"("}]},"doseQuantity":)" +
             std::string(quantity) + "}";
    };
    return read_fhir(request_with(dosage("\"doseAndRate\":[" + part("calculated", calculated) +
                                         "," + part("ordered", ordered) + "]")))[0];
  };
  const ReadOrder weight = with(R"({"value":1,"unit":"mg/kg"})", R"({"value":71,"unit":"mg"})");
  for (const std::string& value :
       read_own(R"({"dose":"71 mg","dose-per-weight":"1 mg/kg"})").values)
    EXPECT_THAT(weight.values, Contains(value));
  const ReadOrder other = with(R"({"value":50,"unit":"mg"})", R"({"value":60,"unit":"mg"})");
  for (const std::string& value : read_own(R"({"dose":"50 mg","stated":{"dose":"60 mg"}})").values)
    EXPECT_THAT(other.values, Contains(value));
  const ReadOrder same = with(R"({"value":50,"unit":"mg"})", R"({"value":0.05,"unit":"g"})");
  EXPECT_THAT(same.values, Not(Contains(HasSubstr("stated.dose"))));
}

// ---- what it asks for

struct State {
  std::string_view name;
  std::string members;
  std::string_view own;
};
class FhirStates : public ::testing::TestWithParam<State> {};
TEST_P(FhirStates, AreOurActionsAndStatuses) {
  const auto orders = read_fhir(request_with(GetParam().members));
  ASSERT_THAT(orders, SizeIs(1));
  EXPECT_EQ(orders[0].kind, RecordKind::Order) << orders[0].reason;
  for (const std::string& value : read_own(GetParam().own).values)
    EXPECT_THAT(orders[0].values, Contains(value));
}
// FHIR R4, value sets medicationrequest-status and medicationrequest-intent.
INSTANTIATE_TEST_SUITE_P(
    Of, FhirStates,
    ::testing::Values(
        State{"Stopped", R"("status":"stopped")", R"({"order":{"action":"stop"}})"},
        State{"Cancelled", R"("status":"cancelled")", R"({"order":{"action":"cancel"}})"},
        State{"InError", R"("status":"entered-in-error")", R"({"order":{"action":"cancel"}})"},
        State{"OnHold", R"("status":"on-hold")", R"({"order":{"status":"suspended"}})"},
        State{"Draft", R"("status":"draft")", R"({"order":{"status":"draft"}})"},
        State{"Plan", R"("intent":"plan")", R"({"order":{"status":"draft"}})"},
        State{"Replaces", R"("priorPrescription":{"reference":"MedicationRequest/rx0"})",
              R"({"order":{"action":"change"}})"},
        State{"Placer",
              R"("identifier":[{"value":"Z"},{"type":{"coding":[{"code":"PLAC"}]},)"
              R"("value":"P-1"}])",
              R"({"order":{"id":"P-1"}})"}),
    [](const auto& info) { return std::string(info.param.name); });

TEST(FhirSource, WhatAsksNotToGiveIsNoOrder) {
  const auto orders = read_fhir(request_with(R"("doNotPerform":true)"));
  EXPECT_EQ(orders[0].kind, RecordKind::Outside);
  EXPECT_EQ(orders[0].place.at, "MedicationRequest.doNotPerform");
}

TEST(FhirSource, NoKnownAllergyIsNone) {
  // FHIR R4, example AllergyIntolerance nka: SNOMED CT 716186003.
  const auto orders =
      read_fhir(R"({"resourceType":"Bundle","entry":[{"resource":)" + request_with("") +
                R"(},{"resource":{"resourceType":"AllergyIntolerance","patient":{"reference":)"
                R"("Patient/SM-0012"},"code":{"coding":[{"system":"http://snomed.info/sct",)"
                R"("code":"716186003"}]}}}]})");
  EXPECT_THAT(orders[0].values, Contains("patient.allergies = none"));
}

}  // namespace
}  // namespace meniscus::adapters::fhir
