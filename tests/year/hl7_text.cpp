// An order as the HL7 v2 messages of real feeds commonly carry it (contract: draft.hpp).
//
// Source:  HL7 v2.5.1, chapter 4: RDE^O11 with PID, ORC, RXE, RXR.  What sites leave out is after
//          published sample messages (tests/fixtures/hl7/README.md): no volume, site, devices,
//          schedule or supply; the strength stands in the medicine's name.
#include <algorithm>
#include <string>

#include "tests/year/draft.hpp"
#include "tests/year/year.hpp"

namespace meniscus::year {

namespace {
/// 2026-03-02T09:14 as 202603020914.
std::string hl7_time(std::string text) {
  std::erase_if(text, [](char c) { return c == '-' || c == ':' || c == 'T'; });
  return text;
}

std::string_view route_code(const std::string& route) {
  if (route == "subcutaneous") return "SC";
  if (route == "intramuscular") return "IM";
  return route == "intravenous" ? "IV" : std::string_view{};
}
}  // namespace

void append_hl7(std::string& out, const Draft& draft) {
  const std::string& action = draft.at(FieldId::OrderAction);
  if (action == "given") return;  // administrations are another feed
  const std::string time = hl7_time(draft.at(FieldId::OrderPlaced));
  std::string_view control = "NW";
  if (action == "change") control = "XO";
  if (action == "stop") control = "DC";
  if (action == "cancel") control = "CA";
  out += "MSH|^~\\&|ORDERS|SLATEMOOR|PHARMACY|SLATEMOOR|" + time + "||RDE^O11^RDE_O11|M" +
         draft.at(FieldId::OrderId).substr(2) + time + "|P|2.5.1\r";
  out += "PID|1||" + draft.at(FieldId::PatientId) + "^^^SLATEMOOR^MR\r";
  out += "ORC|" + std::string(control) + "|" + draft.at(FieldId::OrderId) + "^ORDERS|||||||" +
         time + "\r";
  if (action == "stop" || action == "cancel") return;
  // "50 mg": amount and units are fields of their own.
  const std::string& dose = draft.at(FieldId::Dose);
  const std::size_t blank = std::min(dose.find(' '), dose.size());
  const std::string unit = dose.substr(std::min(blank + 1, dose.size()));
  out += "RXE||^" + draft.at(FieldId::SubstanceName) + "|" + dose.substr(0, blank) + "||" + unit +
         "\r";
  out += "RXR|" + std::string(route_code(draft.at(FieldId::Route))) + "\r";
}

std::string sparse_profile() {
  constexpr FieldId kCarried[] = {
      FieldId::OrderId,   FieldId::OrderFiller,   FieldId::OrderAction,   FieldId::OrderPlaced,
      FieldId::PatientId, FieldId::SubstanceCode, FieldId::SubstanceName, FieldId::Strength,
      FieldId::Dose,      FieldId::Route,         FieldId::StatedStrength};
  std::string text = "{\n  \"name\": \"Slatemoor, pharmacy interface\",\n  \"never-carries\": [";
  const char* separator = "\n    ";
  for (const engine::FieldInfo& field : engine::fields()) {
    if (std::find(std::begin(kCarried), std::end(kCarried), field.id) != std::end(kCarried))
      continue;
    text += separator;
    text += '"';
    text += field.name;
    text += '"';
    separator = ",\n    ";
  }
  return text + "\n  ]\n}\n";
}

}  // namespace meniscus::year
