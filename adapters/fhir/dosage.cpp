// Doses, the steps of a plan, the directions, what is dispensed.
//
// Doses:    of several doseAndRate the ordered one is the dose; one that was calculated from it and
//           is of another kind (mg/kg beside mg) is read beside it, and one that differs is kept as
//           stated.dose.  Rates and maximum doses are not read.
// Plan:     instructions that follow one another (Dosage.sequence 1, 2, 3 ...) are the steps of one
//           order.
#include "adapters/fhir/order_fields.hpp"
#include "adapters/hl7v2/codes.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters::fhir {
namespace {

using engine::FieldId;
using engine::ItemField;
using engine::ListItem;
using engine::Value;

bool is_calculated(Element dose) {
  bool calculated = false;
  each(dose["type"]["coding"],
       [&](Element coding) { calculated = calculated || coding["code"].text() == "calculated"; });
  return calculated;
}

/// The parts of doseAndRate that say a dose: the ordered ones first.
std::vector<Element> doses_of(Element dosage) {
  std::vector<Element> doses;
  for (const bool calculated : {false, true})
    each(dosage["doseAndRate"], [&](Element dose) {
      const bool says = dose["doseQuantity"].exists() || dose["doseRange"].exists();
      if (says && is_calculated(dose) == calculated) doses.push_back(dose);
    });
  return doses;
}

bool is_per_weight(const Lane& lane, Element quantity) {
  const std::string_view unit = lane.unit_of(quantity).unit;
  return unit.find("/kg") != std::string_view::npos;
}

void read_dose(const Lane& lane, FieldId field, Element dose) {
  const Element range = dose["doseRange"];
  if (dose["doseQuantity"].exists()) {
    lane.set_amount(field, dose["doseQuantity"]);
  } else if (field == FieldId::Dose && range["low"].exists()) {
    lane.set_amount(field, range["low"]);
    lane.set_amount(FieldId::DoseHigh, range["high"]);
  } else if (range.exists()) {
    lane.doubt(field, "the range of the dose has no lower end", range);
  }
}

/// The amount is the same as that of the dose which was read.
bool is_the_dose(const Lane& lane, Element quantity) {
  std::string reason;
  const auto amount = engine::parse_quantity(lane.amount_text(quantity, reason));
  const Value dose = lane.block.value(lane.lane, FieldId::Dose);
  return amount && dose.known() && dose.aux == amount->dimension.bits() &&
         engine::compare(dose.number, amount->value) == 0;
}

void read_doses(const Lane& lane, Element dosage) {
  for (const Element dose : doses_of(dosage)) {
    const Element quantity = dose["doseQuantity"];
    const bool per_weight = is_per_weight(lane, quantity);
    const FieldId field = per_weight ? FieldId::DosePerWeight : FieldId::Dose;
    if (!lane.is_present(field)) {
      read_dose(lane, field, dose);
      continue;
    }
    if (is_calculated(dose) && !per_weight) {
      if (!is_the_dose(lane, quantity)) read_dose(lane, FieldId::StatedDose, dose);
      continue;
    }
    lane.doubt(field, "the instruction says two doses", dose);
  }
  // MedicationAdministration.dosage has one dose, without a type.
  const Element given = dosage["dose"];
  if (given.exists())
    lane.set_amount(is_per_weight(lane, given) ? FieldId::DosePerWeight : FieldId::Dose, given);
}

/// The instruction of a prescription that a dispense goes by: the one with its dose, else the
/// first.
Element prescribed_for(const Lane& lane, Element request) {
  Element first;
  Element same;
  each(request["dosageInstruction"], [&](Element dosage) {
    if (!first.exists()) first = dosage;
    for (const Element dose : doses_of(dosage))
      if (!same.exists() && is_the_dose(lane, dose["doseQuantity"])) same = dosage;
  });
  return same.exists() ? same : first;
}

/// A dose by volume is the volume of the injection too.
void volume_from_dose(const Lane& lane) {
  const Value dose = lane.block.value(lane.lane, FieldId::Dose);
  if (!dose.known() || dose.aux != engine::dim::kVolume.bits()) return;
  lane.block.set(lane.lane, FieldId::Volume, dose, lane.block.written(lane.lane, FieldId::Dose),
                 lane.block.origin(lane.lane, FieldId::Dose));
}

// ---- steps

/// How long a step lasts: boundsDuration.
Element lasts_of(Element dosage) { return dosage["timing"]["repeat"]["boundsDuration"]; }

bool step_of(const Lane& lane, Element dosage, ListItem& item, std::string& reason) {
  const auto part = [&](ItemField field, std::string_view text) {
    return text.empty() || engine::set_item_part(lane.numbers, lane.block, item, field,
                                                 lane.block.keep(text), reason);
  };
  const std::vector<Element> doses = doses_of(dosage);
  const Element quantity = doses.size() == 1 ? doses.front()["doseQuantity"] : Element();
  if (!quantity.exists()) {
    reason = "an instruction of the plan says no dose, or more than one";
    return false;
  }
  const std::string text = lane.amount_text(quantity, reason);
  if (text.empty()) {
    if (reason.empty()) reason = "a dose of the plan has no unit";
    return false;
  }
  bool good = part(ItemField::Dose, text);
  const auto parsed = engine::parse_unit(lane.unit_of(quantity).unit, engine::UnitSet::Order);
  if (good && parsed && parsed->dimension == engine::dim::kVolume)
    good = part(ItemField::Volume, text);
  good = good && part(ItemField::Every, interval_of(dosage["timing"]));
  if (good && lasts_of(dosage).exists())
    good = part(ItemField::Lasts, lane.amount_text(lasts_of(dosage), reason));
  item.written = lane.block.keep(quantity["value"].token());
  item.origin = quantity["value"].origin();
  return good;
}

void read_steps(const Lane& lane, const Instructions& instructions) {
  std::vector<ListItem> items;
  for (const Element dosage : instructions.parts) {
    std::string reason;
    if (step_of(lane, dosage, items.emplace_back(), reason)) continue;
    lane.doubt(FieldId::ScheduleSteps, reason, dosage);
    return;
  }
  const std::uint64_t aux = lane.block.add_items(items);
  lane.block.set(lane.lane, FieldId::ScheduleSteps, {0, aux, {}, engine::State::Known},
                 items.front().written, items.front().origin);
}

// ---- texts

struct Directions {
  std::string text;
  Element first;
  unsigned parts = 0;

  void add(Element part) {
    const std::string_view said = part.text();
    if (said.empty() || said == first.text()) return;
    if (!first.exists()) first = part;
    if (!text.empty()) text += "; ";
    text += said;
    ++parts;
  }
};

void read_directions(const Lane& lane, const Instructions& instructions) {
  Directions directions;
  for (const Element dosage : instructions.parts) {
    directions.add(dosage["text"]);
    directions.add(dosage["patientInstruction"]);
    each(dosage["additionalInstruction"],
         [&](Element instruction) { directions.add(Lane::name_of(instruction)); });
  }
  each(lane.resource["note"], [&](Element note) { directions.add(note["text"]); });
  if (instructions.order.begin() != lane.resource.begin())
    each(instructions.order["note"], [&](Element note) { directions.add(note["text"]); });
  if (directions.parts == 1)
    lane.set(FieldId::OrderDirections, directions.first);
  else if (directions.parts > 1)
    lane.set_part(FieldId::OrderDirections, directions.text, directions.first);
}

/// What was ordered: of a dispense, by its prescription.
void read_supply(const Lane& lane, Element order) {
  const Element request = order["dispenseRequest"];
  const Element quantity = request["quantity"];
  const bool containers =
      hl7v2::is_container(quantity["unit"].text()) || hl7v2::is_container(quantity["code"].text());
  if (containers && quantity["value"].is(JsonKind::Number))
    lane.set(FieldId::SupplyVials, quantity["value"]);
  lane.set(FieldId::SupplyRefills, request["numberOfRepeatsAllowed"]);
}

void read_as_needed(const Lane& lane, Element dosage) {
  const Element said = dosage["asNeededBoolean"];
  const Element reason = dosage["asNeededCodeableConcept"];
  if (reason.exists())
    lane.set_as(FieldId::ScheduleAsNeeded, "yes", reason);
  else if (said.exists())
    lane.set_as(FieldId::ScheduleAsNeeded, said.is_true() ? "yes" : "no", said);
}

}  // namespace

void compare_prescription(const Lane& lane, Element request, Element dosage) {
  const Element asked = prescribed_for(lane, request);
  const auto doses = doses_of(asked);
  if (!doses.empty() && !lane.is_present(FieldId::StatedDose)) {
    const Element quantity = doses.front()["doseQuantity"];
    const bool comparable = quantity.exists() && !is_per_weight(lane, quantity);
    if (comparable && lane.is_known(FieldId::Dose) && !is_the_dose(lane, quantity))
      lane.set_amount(FieldId::StatedDose, quantity);
    if (comparable && !lane.is_present(FieldId::Dose)) lane.set_amount(FieldId::Dose, quantity);
  }
  compare_timing(lane, asked["timing"], dosage["timing"]);
  if (!dosage["timing"].exists()) read_timing(lane, asked["timing"]);
  compare_route(lane, asked["route"]);
}

void read_dosage(const Lane& lane, const Instructions& instructions) {
  read_directions(lane, instructions);
  read_supply(lane, instructions.order);
  if (!instructions.doubt.empty()) {
    lane.doubt(FieldId::Dose, instructions.doubt, instructions.first());
    lane.doubt(FieldId::ScheduleEvery, instructions.doubt, instructions.first());
    return;
  }
  const Element dosage = instructions.first();
  if (instructions.parts.size() > 1) {
    read_steps(lane, instructions);
    return;
  }
  read_doses(lane, dosage);
  volume_from_dose(lane);
  read_timing(lane, dosage["timing"]);
  read_as_needed(lane, dosage);
}

}  // namespace meniscus::adapters::fhir
