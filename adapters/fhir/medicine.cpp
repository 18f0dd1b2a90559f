// The medicine: substance, form, strength, components; and what the pharmacy fills.
//
// Strength: of the one active ingredient, as a ratio to a volume.  A ratio to a tablet or a vial is
//           none: per what volume, the resource does not say.
// Mixture:  a Medication with several ingredients.  Its strength is that of the one ingredient that
//           is marked as active, if one is.
#include <algorithm>

#include "adapters/fhir/order_fields.hpp"
#include "adapters/hl7v2/codes.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters::fhir {
namespace {

using engine::FieldId;
using engine::ItemField;
using engine::ListItem;

/// The first word of a concept that the rule set's table of substances knows.
Element known_substance(const Lane& lane, Element concept_element) {
  for (const Element word : Lane::words_of(concept_element))
    if (lane.knows(FieldId::SubstanceCode, word.text())) return word;
  return {};
}

bool is_volume(Element quantity, const Lane& lane) {
  const auto parsed = engine::parse_unit(lane.unit_of(quantity).unit, engine::UnitSet::Order);
  return parsed && parsed->dimension == engine::dim::kVolume;
}

/// `2 meq/1 mL` of a Ratio; empty where it is no strength, with a reason where that is in doubt.
std::string strength_text(const Lane& lane, Element ratio, std::string& reason) {
  const Element numerator = ratio["numerator"];
  const Element denominator = ratio["denominator"];
  if (!numerator.exists()) return {};
  std::string text = lane.amount_text(numerator, reason);
  if (text.empty() || !is_volume(denominator, lane)) return {};
  const std::string per = lane.amount_text(denominator, reason);
  if (per.empty()) return {};
  return text + "/" + (per.starts_with("1 ") ? per.substr(2) : per);
}

/// What an ingredient is; its Medication or Substance where it is named by a reference.
Element ingredient_name(const Lane& lane, Element ingredient) {
  const Element item = ingredient["itemCodeableConcept"];
  if (item.exists()) return item;
  return lane.resources.resolve(ingredient["itemReference"], lane.resource)["code"];
}

std::vector<Element> ingredients_of(const Medicine& medicine) {
  std::vector<Element> all;
  each(medicine.medication["ingredient"], [&](Element ingredient) { all.push_back(ingredient); });
  return all;
}

/// The one whose strength is the medicine's; none where there are several.
Element main_ingredient(const std::vector<Element>& ingredients) {
  if (ingredients.size() == 1) return ingredients.front();
  Element found;
  for (const Element ingredient : ingredients) {
    if (!ingredient["isActive"].is_true()) continue;
    if (found.exists()) return {};
    found = ingredient;
  }
  return found;
}

void read_strength(const Lane& lane, FieldId field, const Medicine& medicine) {
  const Element ratio = main_ingredient(ingredients_of(medicine))["strength"];
  if (!ratio.exists()) return;
  std::string reason;
  const std::string text = strength_text(lane, ratio, reason);
  if (!reason.empty()) {
    lane.doubt(field, reason, ratio);
    return;
  }
  if (text.empty()) return;
  engine::set_field(lane.numbers, lane.block, lane.lane, field, lane.block.keep(text),
                    ratio.origin());
}

ListItem component_of(const Lane& lane, Element ingredient) {
  ListItem item;
  std::string reason;
  const Element name = ingredient_name(lane, ingredient);
  const Element known = known_substance(lane, name);
  const Element shown = known.exists() ? known : Lane::name_of(name);
  const auto part = [&](ItemField field, std::string_view text) {
    std::string bad;
    engine::set_item_part(lane.numbers, lane.block, item, field, lane.block.keep(text), bad);
  };
  if (shown.exists()) part(ItemField::Substance, shown.text());
  const std::string strength = strength_text(lane, ingredient["strength"], reason);
  if (!strength.empty()) part(ItemField::Strength, strength);
  item.written = lane.block.keep(shown.text());
  item.origin = ingredient.origin();
  if (!reason.empty()) lane.doubt(FieldId::Strength, reason, ingredient["strength"]);
  return item;
}

void read_components(const Lane& lane, const Medicine& medicine) {
  const std::vector<Element> ingredients = ingredients_of(medicine);
  if (ingredients.size() < 2) return;
  std::vector<ListItem> items;
  items.reserve(ingredients.size());
  for (const Element ingredient : ingredients)
    items.push_back(component_of(lane, ingredient));
  const std::uint64_t aux = lane.block.add_items(items);
  lane.block.set(lane.lane, FieldId::Components, {0, aux, {}, engine::State::Known},
                 items.front().written, items.front().origin);
}

/// The code or a name that the table of substances knows, and the name as people know it.
void read_name(const Lane& lane, const Medicine& medicine) {
  Element concept_element = medicine.name;
  const std::vector<Element> ingredients = ingredients_of(medicine);
  const bool of_ingredient = !concept_element.exists() && ingredients.size() == 1;
  if (of_ingredient) concept_element = ingredient_name(lane, ingredients.front());
  const Element known = known_substance(lane, concept_element);
  if (known.exists()) lane.set(FieldId::SubstanceCode, known);
  Element name = Lane::name_of(concept_element);
  if (!name.exists()) name = medicine.reference["display"];
  if (name.exists() && (name.key() != "code" || !known.exists()))
    lane.set(FieldId::SubstanceName, name);
}

}  // namespace

Medicine medicine_of(const Lane& lane, Element resource) {
  Medicine medicine;
  medicine.name = resource["medicationCodeableConcept"];
  medicine.reference = resource["medicationReference"];
  if (!medicine.reference.exists()) return medicine;
  const Element found = lane.resources.resolve(medicine.reference, resource);
  if (found["resourceType"].text() != "Medication") return medicine;
  medicine.medication = found;
  if (!medicine.name.exists()) medicine.name = found["code"];
  return medicine;
}

namespace {
void say_status(const Lane& lane, const Medicine& medicine) {
  const Element status = medicine.medication["status"];
  if (status.exists() && status.text() != "active")
    lane.beside("the Medication's status is " + quoted(status.text()), status);
}
}  // namespace

void read_medicine(const Lane& lane, const Medicine& medicine) {
  read_name(lane, medicine);
  lane.set(FieldId::SubstanceForm, Lane::name_of(medicine.medication["form"]));
  read_strength(lane, FieldId::Strength, medicine);
  read_components(lane, medicine);
  lane.set(FieldId::VialExpires, medicine.medication["batch"]["expirationDate"]);
  say_status(lane, medicine);
}

namespace {
/// What names a medicine that no table knows: its first code.
Element first_code(const Medicine& medicine) {
  Element code;
  each(medicine.name["coding"], [&](Element coding) {
    if (!code.exists()) code = coding["code"];
  });
  return code;
}
}  // namespace

void settle_medicine(const Lane& lane, const Medicine& medicine) {
  if (lane.is_known(FieldId::SubstanceCode)) return;
  const Element reference = medicine.reference["reference"];
  if (medicine.reference.exists() && !medicine.medication.exists()) {
    lane.doubt(FieldId::SubstanceCode,
               reference.exists() ? quoted(reference.text()) + " is not in the input"
                                  : "the medicine is named by a reference that leads nowhere",
               reference.exists() ? reference : medicine.reference);
    return;
  }
  lane.set(FieldId::SubstanceCode, first_code(medicine));
}

void read_supplied(const Lane& lane, const Medicine& medicine, const Medicine& ordered) {
  if (medicine.medication.begin() != ordered.medication.begin()) say_status(lane, medicine);
  // What is handed out is what expires, whatever the prescription says.
  lane.set(FieldId::VialExpires, medicine.medication["batch"]["expirationDate"]);
  const Element known = known_substance(lane, medicine.name);
  const Element code = known.exists() ? known : first_code(medicine);
  lane.set(FieldId::SuppliedSubstance, code.exists() ? code : Lane::name_of(medicine.name));
  read_strength(lane, FieldId::SuppliedStrength, medicine);
  const Element quantity = lane.resource["quantity"];
  const bool containers =
      hl7v2::is_container(quantity["unit"].text()) || hl7v2::is_container(quantity["code"].text());
  if (containers && quantity["value"].is(JsonKind::Number))
    lane.set(FieldId::SuppliedVials, quantity["value"]);
}

Element other_form(const Medicine& medicine) {
  for (const Element word : Lane::words_of(medicine.medication["form"]))
    if (hl7v2::is_other_form(without_semantic_tag(word.text()))) return word;
  for (const Element word : Lane::words_of(medicine.name)) {
    const std::string name = hl7v2::upper(without_semantic_tag(word.text()));
    for (const std::string_view form :
         {"ORAL TABLET", "ORAL CAPSULE", "ORAL SOLUTION", "ORAL SUSPENSION", " TABLET", " CAPSULE"})
      if (name.find(form) != std::string::npos) return word;
  }
  return {};
}

}  // namespace meniscus::adapters::fhir
