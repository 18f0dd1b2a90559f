// The patient: identity, birth, sex, allergies, weight and height.
//
// Identity: the id in the reference, so that an order without its Patient beside it belongs to the
//           same history; where the reference holds none (`#p`, `urn:uuid:`), a number of the
//           Patient.
// Weight:   Observations of the record about this patient, LOINC 29463-7 and 3141-9 (8302-2:
//           height); of several the latest; without times they must agree.
// Source:   FHIR R4, profile bodyweight (LOINC 29463-7); example AllergyIntolerance nka (SNOMED CT
//           716186003); value sets observation-status, allergyintolerance-clinical,
//           allergyintolerance-verification.
#include <algorithm>

#include "adapters/fhir/order_fields.hpp"
#include "adapters/hl7v2/codes.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters::fhir {
namespace {

using engine::FieldId;
using engine::ListItem;
using engine::Value;

constexpr std::string_view kNoKnownAllergy = "716186003";

Element subject_of(const Lane& lane) { return lane.resource["subject"]; }

bool has_code(Element concept_element, std::string_view system, std::string_view code) {
  bool found = false;
  each(concept_element["coding"], [&](Element coding) {
    const std::string_view of = coding["system"].text();
    found = found || (coding["code"].text() == code && (of.empty() || of == system));
  });
  return found;
}

/// A code of a concept that has one coding of a small value set.
std::string_view only_code(Element concept_element) {
  std::string_view code;
  each(concept_element["coding"], [&](Element coding) {
    if (code.empty()) code = coding["code"].text();
  });
  return code;
}

/// The medical record number, else the first number.
Element patient_number(Element patient) {
  Element chosen;
  each(patient["identifier"], [&](Element identifier) {
    const Element value = identifier["value"];
    if (value.text().empty()) return;
    if (!chosen.exists() || only_code(identifier["type"]) == "MR") chosen = value;
  });
  return chosen.exists() ? chosen : patient["id"];
}

void read_identity(const Lane& lane) {
  const Element subject = subject_of(lane);
  const Element reference = subject["reference"];
  const Element patient = lane.resources.resolve(subject, lane.resource);
  const std::string_view id = id_in_reference(reference.text(), "Patient");
  if (!id.empty())
    lane.set_part(FieldId::PatientId, id, reference);
  else if (patient.exists())
    lane.set(FieldId::PatientId, patient_number(patient));
  else
    lane.set(FieldId::PatientId, subject["identifier"]["value"]);
  if (!patient.exists() || patient["resourceType"].text() != "Patient") return;
  lane.set(FieldId::PatientBorn, patient["birthDate"]);
  const Element gender = patient["gender"];
  const std::string_view word = gender.text();
  if (word == "female" || word == "male" || word == "other")
    lane.set(FieldId::PatientSex, gender);
  else if (gender.exists() && word != "unknown")
    lane.doubt(FieldId::PatientSex, quoted(word) + " is no gender of FHIR", gender);
}

// ---- allergies

ListItem allergy(const Lane& lane, Element code) {
  ListItem item;
  Element shown = Lane::name_of(code);
  for (const Element word : Lane::words_of(code)) {
    if (!lane.knows(FieldId::PatientAllergies, word.text())) continue;
    shown = word;
    break;
  }
  item.written = lane.block.keep(shown.text());
  item.origin = shown.origin();
  item.self = engine::read_list_word(lane.context, FieldId::PatientAllergies, item.written);
  return item;
}

bool is_withdrawn(Element allergy) {
  const std::string_view clinical = only_code(allergy["clinicalStatus"]);
  const std::string_view verified = only_code(allergy["verificationStatus"]);
  return clinical == "inactive" || clinical == "resolved" || verified == "refuted" ||
         verified == "entered-in-error";
}

bool is_no_allergy(Element code) {
  if (has_code(code, kSnomed, kNoKnownAllergy)) return true;
  for (const Element word : Lane::words_of(code))
    if (hl7v2::is_no_allergy(without_semantic_tag(word.text()))) return true;
  return false;
}

void read_allergies(const Lane& lane) {
  std::vector<ListItem> items;
  Element none_said;
  Element first;
  Element nameless;
  for (const Element entry :
       lane.resources.about("AllergyIntolerance", subject_of(lane), lane.resource)) {
    if (is_withdrawn(entry)) continue;
    const Element code = entry["code"];
    if (!Lane::name_of(code).exists()) {
      nameless = entry;
    } else if (is_no_allergy(code)) {
      none_said = Lane::name_of(code);
    } else {
      if (!first.exists()) first = Lane::name_of(code);
      items.push_back(allergy(lane, code));
    }
  }
  if (!items.empty()) {
    const std::uint64_t aux = lane.block.add_items(items);
    lane.block.set(lane.lane, FieldId::PatientAllergies, {0, aux, {}, engine::State::Known},
                   lane.block.keep(first.text()), first.origin());
  }
  if (nameless.exists())
    lane.doubt(FieldId::PatientAllergies, "an allergy does not say to what", nameless);
  else if (items.empty() && none_said.exists())
    lane.set_none(FieldId::PatientAllergies, none_said);
}

// ---- weight and height

struct Measure {
  Element observation;
  double when = 0;
};

Element time_of(Element observation) {
  for (const std::string_view key : {"effectiveDateTime", "effectiveInstant", "issued"})
    if (observation[key].exists()) return observation[key];
  return observation["effectivePeriod"]["start"];
}

std::vector<Measure> measures(const Lane& lane, std::initializer_list<std::string_view> codes) {
  std::vector<Measure> found;
  for (const Element entry : lane.resources.about("Observation", subject_of(lane), lane.resource)) {
    const std::string_view status = entry["status"].text();
    if (status == "entered-in-error" || status == "cancelled" || status == "registered") continue;
    const bool wanted = std::ranges::any_of(
        codes, [&](std::string_view code) { return has_code(entry["code"], kLoinc, code); });
    if (!wanted || !entry["valueQuantity"].exists()) continue;
    const auto when = engine::parse_date(time_of(entry).text(), engine::DateOrder::Ymd);
    found.push_back({entry, when ? static_cast<double>(when->seconds) : 0});
  }
  return found;
}

void set_measure(const Lane& lane, FieldId field, const std::vector<Measure>& all) {
  if (all.empty()) return;
  const Measure newest = *std::ranges::max_element(all, {}, &Measure::when);
  const Element quantity = newest.observation["valueQuantity"];
  for (const Measure& other : all) {
    const Element second = other.observation["valueQuantity"];
    const bool same = second["value"].token() == quantity["value"].token() &&
                      second["code"].token() == quantity["code"].token();
    if (same || other.when != newest.when) continue;
    lane.doubt(field, "the record has values that differ, and no times to tell the latest by",
               quantity);
    return;
  }
  lane.set_amount(field, quantity);
  if (field == FieldId::PatientWeight && lane.is_known(field))
    lane.set(FieldId::PatientWeighed, time_of(newest.observation));
}

}  // namespace

void compare_patient(const Lane& lane, Element request) {
  const Element own = subject_of(lane);
  const Element asked = request["subject"];
  const Element patient = lane.resources.resolve(own, lane.resource);
  const Element other = lane.resources.resolve(asked, request);
  const std::string_view id = id_in_reference(own["reference"].text(), "Patient");
  const std::string_view asked_id = id_in_reference(asked["reference"].text(), "Patient");
  const bool same = patient.exists() && other.exists()
                        ? patient.begin() == other.begin()
                        : id.empty() || asked_id.empty() || id == asked_id;
  if (same) return;
  const Element place = own["reference"].exists() ? own["reference"] : own;
  lane.doubt(FieldId::PatientId, "it is dispensed to another patient than it is prescribed for",
             place);
}

void read_patient(const Lane& lane) {
  read_identity(lane);
  read_allergies(lane);
  set_measure(lane, FieldId::PatientWeight, measures(lane, {"29463-7", "3141-9"}));
  set_measure(lane, FieldId::PatientHeight, measures(lane, {"8302-2"}));
}

}  // namespace meniscus::adapters::fhir
