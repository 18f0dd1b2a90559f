// Keys that FHIR R4 does not have there, and extensions that change the meaning.
//
// Why:     a slip of the pen in a key (`doseQuantitty`) must not drop a dose in silence, and a
//          modifierExtension may turn round what the element says.
// Passed:  `extension` everywhere, and `_key` beside a key.
// Source:  FHIR R4: MedicationRequest, MedicationDispense, MedicationAdministration, Dosage,
// Timing;
//          modifierExtension in Extensibility.
#include <algorithm>
#include <array>
#include <span>

#include "adapters/fhir/order_fields.hpp"
#include "adapters/support/near_name.hpp"

namespace meniscus::adapters::fhir {
namespace {

using Names = std::span<const std::string_view>;

// Of every resource and every element.
constexpr std::array<std::string_view, 8> kCommon = {
    "resourceType", "id", "meta", "language", "text", "contained", "extension", "implicitRules"};
constexpr std::array<std::string_view, 34> kRequest = {"identifier",
                                                       "status",
                                                       "statusReason",
                                                       "intent",
                                                       "category",
                                                       "priority",
                                                       "doNotPerform",
                                                       "reportedBoolean",
                                                       "reportedReference",
                                                       "medicationCodeableConcept",
                                                       "medicationReference",
                                                       "subject",
                                                       "encounter",
                                                       "supportingInformation",
                                                       "authoredOn",
                                                       "requester",
                                                       "performer",
                                                       "performerType",
                                                       "recorder",
                                                       "reasonCode",
                                                       "reasonReference",
                                                       "instantiatesCanonical",
                                                       "instantiatesUri",
                                                       "basedOn",
                                                       "groupIdentifier",
                                                       "courseOfTherapyType",
                                                       "insurance",
                                                       "note",
                                                       "dosageInstruction",
                                                       "dispenseRequest",
                                                       "substitution",
                                                       "priorPrescription",
                                                       "detectedIssue",
                                                       "eventHistory"};
constexpr std::array<std::string_view, 26> kDispense = {"identifier",
                                                        "partOf",
                                                        "status",
                                                        "statusReasonCodeableConcept",
                                                        "statusReasonReference",
                                                        "category",
                                                        "medicationCodeableConcept",
                                                        "medicationReference",
                                                        "subject",
                                                        "context",
                                                        "supportingInformation",
                                                        "performer",
                                                        "location",
                                                        "authorizingPrescription",
                                                        "type",
                                                        "quantity",
                                                        "daysSupply",
                                                        "whenPrepared",
                                                        "whenHandedOver",
                                                        "destination",
                                                        "receiver",
                                                        "note",
                                                        "dosageInstruction",
                                                        "substitution",
                                                        "detectedIssue",
                                                        "eventHistory"};
constexpr std::array<std::string_view, 21> kAdministration = {"identifier",
                                                              "instantiates",
                                                              "partOf",
                                                              "status",
                                                              "statusReason",
                                                              "category",
                                                              "medicationCodeableConcept",
                                                              "medicationReference",
                                                              "subject",
                                                              "context",
                                                              "supportingInformation",
                                                              "effectiveDateTime",
                                                              "effectivePeriod",
                                                              "performer",
                                                              "reasonCode",
                                                              "reasonReference",
                                                              "request",
                                                              "device",
                                                              "note",
                                                              "dosage",
                                                              "eventHistory"};
constexpr std::array<std::string_view, 16> kDosage = {"sequence",
                                                      "additionalInstruction",
                                                      "patientInstruction",
                                                      "timing",
                                                      "asNeededBoolean",
                                                      "asNeededCodeableConcept",
                                                      "site",
                                                      "route",
                                                      "method",
                                                      "doseAndRate",
                                                      "maxDosePerPeriod",
                                                      "maxDosePerAdministration",
                                                      "maxDosePerLifetime",
                                                      "dose",
                                                      "rateRatio",
                                                      "rateQuantity"};
constexpr std::array<std::string_view, 6> kDoseAndRate = {
    "type", "doseQuantity", "doseRange", "rateRatio", "rateRange", "rateQuantity"};
constexpr std::array<std::string_view, 3> kTiming = {"event", "repeat", "code"};
constexpr std::array<std::string_view, 17> kRepeat = {
    "boundsDuration", "boundsRange",  "boundsPeriod", "count",        "countMax", "duration",
    "durationMax",    "durationUnit", "frequency",    "frequencyMax", "period",   "periodMax",
    "periodUnit",     "dayOfWeek",    "timeOfDay",    "when",         "offset"};
constexpr std::array<std::string_view, 4> kQuantity = {"value", "unit", "system", "code"};

bool holds(Names names, std::string_view key) {
  return std::ranges::find(names, key) != names.end();
}

void check(const Lane& lane, Element object, Names names) {
  if (!object.is(JsonKind::Object)) return;
  for (Element member = object.first(); member.exists(); member = member.next()) {
    std::string_view key = member.key();
    if (key.starts_with('_')) key.remove_prefix(1);
    if (key == "modifierExtension" || holds(names, key) || holds(kCommon, key)) continue;
    NearName near(key);
    for (const std::string_view name : names)
      near.offer(name);
    std::string why = "FHIR has no element " + quoted(key) + " here";
    if (!near.best().empty()) why += "; " + quoted(near.best()) + " may be meant";
    lane.beside(std::move(why), member);
  }
}

void check_quantity(const Lane& lane, Element quantity) {
  static constexpr std::array<std::string_view, 5> kAll = {kQuantity[0], kQuantity[1], kQuantity[2],
                                                           kQuantity[3], "comparator"};
  check(lane, quantity, kAll);
}

void check_dosage(const Lane& lane, Element dosage) {
  if (dosage.exists() && !dosage.is(JsonKind::Object)) {
    lane.beside("a dosage instruction that is no object", dosage);
    return;
  }
  check(lane, dosage, kDosage);
  check(lane, dosage["timing"], kTiming);
  check(lane, dosage["timing"]["repeat"], kRepeat);
  each(dosage["doseAndRate"], [&](Element dose) {
    check(lane, dose, kDoseAndRate);
    check_quantity(lane, dose["doseQuantity"]);
  });
  if (lane.type == OrderType::Administration) check_quantity(lane, dosage["dose"]);
}

/// Every modifierExtension within an element.
void say_modifiers(const Lane& lane, Element within) {
  for (Element child = within.first(); child.exists(); child = child.next()) {
    if (child.key() == "modifierExtension" && !child.is(JsonKind::Null)) {
      lane.beside("a modifierExtension may change what this means, and is not read", child);
      continue;
    }
    say_modifiers(lane, child);
  }
}

Names names_of(OrderType type) {
  switch (type) {
    case OrderType::Request:
      return kRequest;
    case OrderType::Dispense:
      return kDispense;
    case OrderType::Administration:
      return kAdministration;
  }
  return {};
}

}  // namespace

void check_keys(const Lane& lane, const Instructions& instructions, Element medication) {
  check(lane, lane.resource, names_of(lane.type));
  for (const Element dosage : instructions.parts)
    check_dosage(lane, dosage);
  say_modifiers(lane, lane.resource);
  const bool contained =
      medication.begin() >= lane.resource.begin() && medication.end() <= lane.resource.end();
  if (!contained) say_modifiers(lane, medication);
  if (const Element rules = lane.resource["implicitRules"]; rules.exists())
    lane.beside("implicitRules may change what the resource means, and are not read", rules);
}

}  // namespace meniscus::adapters::fhir
