// FHIR's code systems, as far as an injection order needs them.
//
// Beside:  routes by their names, the codes of HL7 tables 0162, 0163 and 0335 and local spellings
//          are those of HL7 v2 (hl7v2/codes.hpp): FHIR takes its v3 code systems from them.
// SNOMED:  only the codes that stand in the examples of FHIR R4.
// Unknown: a code that no table has gives nothing; it is never taken for the nearest one.
// Source:  FHIR R4 (4.0.0), http://hl7.org/fhir/R4: value sets medicationrequest-status, -intent,
//          medicationdispense-status, medication-admin-status, units-of-time, timing-abbreviation,
//          and the examples of the three resources.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

namespace meniscus::adapters::fhir {

inline constexpr std::string_view kUcum = "http://unitsofmeasure.org";
inline constexpr std::string_view kSnomed = "http://snomed.info/sct";
inline constexpr std::string_view kLoinc = "http://loinc.org";

enum class OrderType : std::uint8_t { Request, Dispense, Administration };
std::optional<OrderType> order_type(std::string_view resource_type);
/// Resources that orders refer to: read where an order needs them, and no orders themselves.
bool is_context(std::string_view resource_type);

/// What a status means for us; `reason`: the resource is no order to judge, and why.
struct Status {
  std::string_view action;  // of order.action; empty: as the resource has it
  std::string_view status;  // of order.status; empty: nothing to say
  std::string_view reason;
  std::string_view doubt;
};
/// Nothing for a code that the value set has not.
std::optional<Status> status_of(OrderType type, std::string_view code);

enum class Intent : std::uint8_t { Order, Draft, Unknown };
Intent intent_of(std::string_view code);

/// Of a code of SNOMED CT: our word for the route; empty where the examples have no such code.
std::string_view snomed_route(std::string_view code);
/// UCUM's unit of a unit of time of FHIR; the same word, or empty.
std::string_view period_unit(std::string_view code);
/// GTSAbbreviation codes in the words of HL7's table 0335, as repeat_pattern() reads them.
std::string_view repeat_code(std::string_view abbreviation);
/// `Subcutaneous (qualifier value)` is `Subcutaneous`; `Intravenous route` is `Intravenous`.
std::string_view without_semantic_tag(std::string_view display);

}  // namespace meniscus::adapters::fhir
