// Contract: see codes.hpp.
#include "adapters/fhir/codes.hpp"

#include <algorithm>
#include <array>

namespace meniscus::adapters::fhir {
namespace {

struct StatusRow {
  std::string_view code;
  Status status;
};
// FHIR R4, value set medicationrequest-status.
constexpr std::array<StatusRow, 8> kRequest = {{
    {"active", {"", "active", "", ""}},
    {"on-hold", {"", "suspended", "", ""}},
    {"cancelled", {"cancel", "", "", ""}},
    {"completed", {"", "completed", "", ""}},
    {"entered-in-error", {"cancel", "", "", ""}},
    {"stopped", {"stop", "", "", ""}},
    {"draft", {"", "draft", "", ""}},
    {"unknown", {"", "", "", "the sender does not know in which state the order is"}},
}};
// FHIR R4, value set medicationdispense-status.  What becomes of a dispense does not end the order.
constexpr std::array<StatusRow, 9> kDispense = {{
    {"preparation", {}},
    {"in-progress", {}},
    {"cancelled", {"", "", "the dispense was cancelled: nothing was handed over", ""}},
    {"on-hold", {"", "suspended", "", ""}},
    {"completed", {}},
    {"entered-in-error", {"", "", "the record of the dispense was entered in error", ""}},
    {"stopped", {"", "", "the dispense was stopped", ""}},
    {"declined", {"", "", "the dispense was declined: nothing was handed over", ""}},
    {"unknown", {"", "", "", "the sender does not know in which state the dispense is"}},
}};
// FHIR R4, value set medication-admin-status.
constexpr std::array<StatusRow, 7> kAdministration = {{
    {"in-progress", {"given", "", "", ""}},
    {"not-done", {"", "", "the medicine was not given", ""}},
    {"on-hold", {"given", "", "", "it was halted: how much was given is not known"}},
    {"completed", {"given", "", "", ""}},
    {"entered-in-error", {"", "", "the record of the injection was entered in error", ""}},
    {"stopped", {"given", "", "", "it was stopped: how much was given is not known"}},
    {"unknown", {"given", "", "", "the sender does not know whether it was given"}},
}};

struct RouteRow {
  std::string_view code;
  std::string_view word;
};
// The codes in the examples of FHIR R4: MedicationRequest medrx0302 (oral), 0316 (255560000), 0317
// (47625008), 0320 (subcutaneous) and 0332 (intramuscular).  34206005 and 78421000 (the concepts of
// the routes themselves) are from memory, as in hl7v2/codes.cpp.
constexpr std::array<RouteRow, 7> kRoutes = {{
    {"263887005", "subcutaneous"},
    {"34206005", "subcutaneous"},
    {"255559005", "intramuscular"},
    {"78421000", "intramuscular"},
    {"255560000", "intravenous"},
    {"47625008", "intravenous"},
    {"26643006", "oral"},
}};

// FHIR R4, value set units-of-time.
constexpr std::array<std::string_view, 7> kUnits = {"s", "min", "h", "d", "wk", "mo", "a"};

struct RepeatRow {
  std::string_view code;
  std::string_view pattern;
};
// FHIR R4, value set timing-abbreviation (v3 GTSAbbreviation): what table 0335 writes otherwise.
constexpr std::array<RepeatRow, 5> kRepeats = {
    {{"AM", "QAM"}, {"PM", "QPM"}, {"BED", "QHS"}, {"WK", "QW"}, {"MO", "MONTHLY"}}};

constexpr std::array<std::string_view, 12> kContext = {
    "Patient",   "Medication",   "AllergyIntolerance", "Observation",
    "Encounter", "Practitioner", "PractitionerRole",   "Organization",
    "Location",  "Condition",    "RelatedPerson",      "Provenance"};

template <std::size_t N>
std::optional<Status> find(const std::array<StatusRow, N>& rows, std::string_view code) {
  const auto* row = std::ranges::find(rows, code, &StatusRow::code);
  if (row == rows.end()) return std::nullopt;
  return row->status;
}

}  // namespace

std::optional<OrderType> order_type(std::string_view resource_type) {
  if (resource_type == "MedicationRequest") return OrderType::Request;
  if (resource_type == "MedicationDispense") return OrderType::Dispense;
  if (resource_type == "MedicationAdministration") return OrderType::Administration;
  return std::nullopt;
}

bool is_context(std::string_view resource_type) {
  return std::ranges::find(kContext, resource_type) != kContext.end();
}

std::optional<Status> status_of(OrderType type, std::string_view code) {
  switch (type) {
    case OrderType::Request:
      return find(kRequest, code);
    case OrderType::Dispense:
      return find(kDispense, code);
    case OrderType::Administration:
      return find(kAdministration, code);
  }
  return std::nullopt;
}

// FHIR R4, value set medicationrequest-intent: a proposal, a plan and an option ask nobody yet.
Intent intent_of(std::string_view code) {
  for (const std::string_view order :
       {"order", "original-order", "reflex-order", "filler-order", "instance-order"})
    if (code == order) return Intent::Order;
  for (const std::string_view draft : {"proposal", "plan", "option"})
    if (code == draft) return Intent::Draft;
  return Intent::Unknown;
}

std::string_view snomed_route(std::string_view code) {
  const auto* row = std::ranges::find(kRoutes, code, &RouteRow::code);
  return row == kRoutes.end() ? std::string_view{} : row->word;
}

std::string_view period_unit(std::string_view code) {
  const auto* unit = std::ranges::find(kUnits, code);
  return unit == kUnits.end() ? std::string_view{} : *unit;
}

std::string_view repeat_code(std::string_view abbreviation) {
  const auto* row = std::ranges::find(kRepeats, abbreviation, &RepeatRow::code);
  return row == kRepeats.end() ? abbreviation : row->pattern;
}

std::string_view without_semantic_tag(std::string_view display) {
  const auto trim = [&] {
    while (!display.empty() && display.back() == ' ')
      display.remove_suffix(1);
  };
  trim();
  const std::size_t open = display.rfind('(');
  if (open != std::string_view::npos && open > 0 && display.ends_with(')')) {
    display = display.substr(0, open);
    trim();
  }
  for (const std::string_view tail : {" route", " Route"})
    if (display.size() > tail.size() && display.ends_with(tail)) display.remove_suffix(tail.size());
  trim();
  return display;
}

}  // namespace meniscus::adapters::fhir
