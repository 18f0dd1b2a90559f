// The medicine: substance, dose, strength, what is dispensed, what it is mixed of, the directions.
#include <algorithm>
#include <array>
#include <string>
#include <vector>

#include "adapters/hl7v2/codes.hpp"
#include "adapters/hl7v2/order_fields.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::FieldId;
using engine::ListItem;
using engine::Value;

// Positions: HL7 v2.5.1 chapter 4 (4.14), as in docs/formats-hl7.md.
constexpr std::array<DetailLayout, 5> kLayouts = {{
    {"RXO", 1, 2, 3, 4, 5, 6, 7, 18, 19, 25, 26, 11, 12, 13, 20, 24, 0},
    {"RXE", 2, 3, 4, 5, 6, 7, 21, 25, 26, 33, 34, 10, 11, 12, 27, 31, 0},
    {"RXG", 4, 5, 6, 7, 8, 9, 13, 17, 18, 23, 24, 0, 0, 0, 22, 0, 20},
    {"RXD", 2, 0, 0, 0, 6, 9, 15, 16, 17, 28, 29, 4, 5, 0, 21, 25, 19},
    {"RXA", 5, 6, 0, 7, 8, 9, 0, 13, 14, 23, 24, 0, 0, 0, 19, 0, 16},
}};

const Segment& segment_at(const Lane& lane, int index) {
  return lane.message.segments()[static_cast<std::size_t>(index)];
}

bool is_shifted(const Lane& lane, int index) {
  return index >= 0 && looks_shifted(lane.message, segment_at(lane, index));
}

/// The coded field of the product: RXE-2, else RXE-31, else what was requested.
std::string_view product(const Lane& lane, const OrderPlan& plan) {
  const Message& m = lane.message;
  for (const int index : {plan.detail(), plan.rxe, plan.rxo}) {
    if (index < 0 || is_shifted(lane, index)) continue;
    const Segment& s = segment_at(lane, index);
    const DetailLayout& at = layout_of(s.name);
    for (const unsigned number : {unsigned{at.code}, unsigned{at.other_code}}) {
      const std::string_view coded = m.repetition(m.field(s, number), 0);
      if (!trim(coded).empty() &&
          coded.find_first_not_of(m.delimiters().component) != std::string_view::npos)
        return coded;
    }
  }
  return {};
}

/// The first part of a coded field that the rule set's table of substances knows.
std::string_view known_substance(const Lane& lane, std::string_view coded) {
  for (const unsigned component : {1U, 4U, 2U, 5U, 9U}) {
    const std::string_view raw = lane.message.component(coded, component);
    if (lane.knows(FieldId::SubstanceCode, lane.text(raw))) return raw;
  }
  return {};
}

engine::Word substance_word(const Lane& lane, std::string_view coded) {
  const std::string_view raw = known_substance(lane, coded);
  if (raw.empty() || lane.context.program == nullptr) return engine::kNoWord;
  const auto* entry =
      lane.context.program->vocabularies[engine::index(FieldId::SubstanceCode)].find(
          lane.text(raw));
  return entry == nullptr ? engine::kNoWord : entry->word;
}

/// RXE-25 to 34 as a ratio.  An amount without a volume is no strength: it is per give unit or per
/// package, which the message does not say.
void read_strength(const Lane& lane, const Segment& s, FieldId field) {
  const Message& m = lane.message;
  const DetailLayout& at = layout_of(s.name);
  const std::string_view amount = trim(m.first(m.field(s, at.strength), 1));
  const std::string_view units = m.field(s, at.strength_units);
  if (amount.empty()) {
    const std::string_view next = trim(m.first(units, 1));
    if (looks_numeric(next))
      lane.doubt(field, "fields look shifted: a number stands where the strength's unit should",
                 next);
    return;
  }
  if (!looks_numeric(amount)) {
    if (trim(units).empty()) lane.set(field, amount, true);
    return;
  }
  const Lane::UnitText unit = lane.unit_of(units);
  if (unit.unit.empty()) return;
  const std::string_view volume = trim(m.first(m.field(s, at.strength_volume), 1));
  const std::string_view volume_units = m.field(s, at.strength_volume_units);
  std::string text(amount);
  text += ' ';
  text += unit.unit;
  if (volume.empty() && unit.unit.find('/') == std::string_view::npos) return;
  if (!volume.empty()) {
    const Lane::UnitText per = lane.unit_of(volume_units);
    if (per.unit.empty() || !looks_numeric(volume)) {
      lane.doubt(field, "the volume of the strength has no unit that can be read", volume);
      return;
    }
    text += '/';
    if (volume != "1") {
      text += volume;
      text += ' ';
    }
    text += per.unit;
  }
  const std::string_view end = volume.empty() ? units : volume_units;
  const std::string_view raw(amount.data(),
                             static_cast<std::size_t>(end.data() + end.size() - amount.data()));
  lane.set_as(field, text, amount);
  if (!lane.is_known(field)) return;
  lane.block.set(lane.lane, field, lane.block.value(lane.lane, field), lane.block.keep(text),
                 lane.origin(raw));
}

void read_dose(const Lane& lane, const Segment& s, FieldId low_field, FieldId high_field) {
  const Message& m = lane.message;
  const DetailLayout& at = layout_of(s.name);
  const std::string_view units = m.repetition(m.field(s, at.units), 0);
  std::string_view low = trim(m.field(s, at.low));
  std::string_view high = trim(m.field(s, at.high));
  if (s.name == "RXA" && low == "999") return;  // "amount unknown", immunisation guides
  if (low.empty() || is_null(low)) {            // the dose in the maximum alone is the dose
    if (high.empty()) return;
    low = high;
    high = {};
  }
  lane.set_amount(low_field, low, units);
  if (high != low) lane.set_amount(high_field, high, units);
}

/// A dose by volume is the volume of the injection too.
void volume_from_dose(const Lane& lane) {
  const Value dose = lane.block.value(lane.lane, FieldId::Dose);
  if (!dose.known() || dose.aux != engine::dim::kVolume.bits()) return;
  if (lane.is_present(FieldId::Volume)) return;
  lane.block.set(lane.lane, FieldId::Volume, dose, lane.block.written(lane.lane, FieldId::Dose),
                 lane.block.origin(lane.lane, FieldId::Dose));
}

/// What was requested, where it differs from what was encoded.
void compare_request(const Lane& lane, const OrderPlan& plan) {
  if (plan.rxo < 0 || plan.rxe < 0 || is_shifted(lane, plan.rxo)) return;
  const Message& m = lane.message;
  const Segment& rxo = segment_at(lane, plan.rxo);
  const Segment& rxe = segment_at(lane, plan.rxe);
  const std::string_view asked = m.repetition(m.field(rxo, 1), 0);
  const engine::Word requested = substance_word(lane, asked);
  const engine::Word encoded = substance_word(lane, m.repetition(m.field(rxe, 2), 0));
  if (requested != engine::kNoWord && encoded != engine::kNoWord && requested != encoded)
    lane.doubt(FieldId::SubstanceName, "RXO-1 requests another medicine than RXE-2 encodes", asked);
  const std::string_view low =
      trim(trim(m.field(rxo, 2)).empty() ? m.field(rxo, 3) : m.field(rxo, 2));
  const Lane::UnitText unit = lane.unit_of(m.field(rxo, 4));
  const Value dose = lane.block.value(lane.lane, FieldId::Dose);
  if (!looks_numeric(low) || unit.unit.empty() || !dose.known()) return;
  const auto number = engine::parse_number(low, lane.context.feed->decimal);
  const auto parsed = engine::parse_unit(unit.unit, engine::UnitSet::Order);
  if (!number || !parsed) return;
  const bool agrees = parsed->dimension.bits() == dose.aux &&
                      engine::compare(*number * parsed->factor, dose.number) == 0;
  if (!agrees) lane.set_amount(FieldId::StatedDose, low, m.field(rxo, 4));
}

void read_supply(const Lane& lane, const Segment& s) {
  const Message& m = lane.message;
  const DetailLayout& at = layout_of(s.name);
  const std::string_view units = m.repetition(m.field(s, at.dispense_units), 0);
  const bool containers =
      is_container(m.component(units, 1)) || is_container(m.component(units, 2));
  const std::string_view amount = trim(m.field(s, at.dispense));
  if (containers && looks_numeric(amount)) lane.set(FieldId::SupplyVials, amount);
  const std::string_view refills = trim(m.field(s, at.refills));
  if (looks_numeric(refills)) lane.set(FieldId::SupplyRefills, refills);
}

/// RXD: what the pharmacy fills.
void read_dispensed(const Lane& lane, const Segment& s) {
  const Message& m = lane.message;
  const DetailLayout& at = layout_of(s.name);
  const std::string_view coded = m.repetition(m.field(s, at.code), 0);
  const std::string_view known = known_substance(lane, coded);
  lane.set(FieldId::SuppliedSubstance, known.empty() ? m.component(coded, 1) : known);
  read_strength(lane, s, FieldId::SuppliedStrength);
  const std::string_view units = m.repetition(m.field(s, at.dispense_units), 0);
  const std::string_view amount = trim(m.field(s, at.dispense));
  if ((is_container(m.component(units, 1)) || is_container(m.component(units, 2))) &&
      looks_numeric(amount))
    lane.set(FieldId::SuppliedVials, amount);
  // What is handed out is what expires, whatever segment says the rest.
  if (!lane.is_present(FieldId::VialExpires))
    lane.set_date(FieldId::VialExpires, m.first(m.field(s, at.expires), 1));
  const std::string_view size = trim(m.field(s, 22));
  const Lane::UnitText unit = lane.unit_of(m.field(s, 23));
  if (looks_numeric(size) && !unit.unit.empty()) {
    const auto parsed = engine::parse_unit(unit.unit, engine::UnitSet::Order);
    if (parsed && parsed->dimension == engine::dim::kVolume)
      lane.set_amount(FieldId::SuppliedVialVolume, size, m.field(s, 23));
  }
}

ListItem component_of(const Lane& lane, const Segment& s) {
  const Message& m = lane.message;
  ListItem item;
  std::string reason;
  const auto part = [&](engine::ItemField field, std::string_view text) {
    engine::set_item_part(lane.context, lane.block, item, field, lane.block.keep(text), reason);
  };
  const std::string_view coded = m.repetition(m.field(s, 2), 0);
  const std::string_view known = known_substance(lane, coded);
  const std::string_view shown = known.empty() ? lane.name_of(coded) : known;
  if (!shown.empty()) part(engine::ItemField::Substance, lane.text(shown));
  const std::string_view amount = trim(m.field(s, 3));
  const Lane::UnitText unit = lane.unit_of(m.field(s, 4));
  if (looks_numeric(amount) && !unit.unit.empty()) {
    const std::string text = std::string(amount) + " " + std::string(unit.unit);
    part(engine::ItemField::Dose, text);
    const auto parsed = engine::parse_unit(unit.unit, engine::UnitSet::Order);
    if (parsed && parsed->dimension == engine::dim::kVolume) part(engine::ItemField::Volume, text);
  }
  item.written = lane.text(shown);
  if (lane.coding.is_lost(item.written)) lane.doubt_text(FieldId::Components, shown);
  item.origin = lane.origin(shown);
  return item;
}

/// The RXC of one segment, which stand between it and the next that says what is given.
struct Parts {
  std::vector<const Segment*> segments;
  [[nodiscard]] bool empty() const { return segments.empty(); }
};

/// The same parts in the same amounts, as they are written.
bool are_same(const Message& m, const Parts& a, const Parts& b) {
  return std::ranges::equal(a.segments, b.segments, [&](const Segment* x, const Segment* y) {
    return m.first(m.field(*x, 2), 1) == m.first(m.field(*y, 2), 1) &&
           trim(m.field(*x, 3)) == trim(m.field(*y, 3)) &&
           m.first(m.field(*x, 4), 1) == m.first(m.field(*y, 4), 1);
  });
}

void read_components(const Lane& lane, const OrderPlan& plan) {
  const Message& m = lane.message;
  // Those after the detail replace those of the request before it; what is dispensed is compared.
  Parts requested;
  Parts own;
  Parts dispensed;
  Parts* to = &requested;
  for (int i = plan.begin; i < plan.end; ++i) {
    const Segment& s = segment_at(lane, i);
    if (i == plan.detail())
      to = &own;
    else if (i == plan.rxd)
      to = &dispensed;
    if (s.name == "RXC") to->segments.push_back(&s);
  }
  if (own.empty()) own = std::move(requested);
  if (own.empty()) std::swap(own, dispensed);
  if (own.empty()) return;
  const std::string_view first = m.field(*own.segments.front(), 2);
  const bool is_product =
      own.segments.size() == 1 && m.first(first, 1) == m.component(product(lane, plan), 1);
  if (!dispensed.empty() && !are_same(m, own, dispensed)) {
    lane.doubt(FieldId::Components, "other parts or amounts are dispensed than were ordered",
               m.field(*dispensed.segments.front(), 2));
    return;
  }
  if (is_product) return;  // a "mixture" of the product alone is none
  std::vector<ListItem> items;
  items.reserve(own.segments.size());
  for (const Segment* s : own.segments)
    items.push_back(component_of(lane, *s));
  const std::uint64_t aux = lane.block.add_items(items);
  lane.block.set(lane.lane, FieldId::Components, {0, aux, {}, engine::State::Known},
                 lane.text(first), lane.origin(first));
}

void add_directions(const Lane& lane, std::string_view field, std::string& text,
                    std::string_view& first) {
  const Message& m = lane.message;
  for (unsigned n = 0;; ++n) {
    const std::string_view coded = m.repetition(field, n);
    if (coded.data() == nullptr) return;
    if (m.component(coded, 3).find("0162") != std::string_view::npos) continue;  // a route
    const std::string_view raw = trim(lane.name_of(coded));
    if (raw.empty() || route_code(raw)) continue;
    const std::string_view decoded = lane.text(raw);
    if (lane.coding.is_lost(decoded)) {
      lane.doubt_text(FieldId::OrderDirections, raw);  // what the other parts say is still set
      continue;
    }
    if (first.empty()) first = raw;
    if (!text.empty()) text += "; ";
    text += decoded;
  }
}

void read_directions(const Lane& lane, const OrderPlan& plan) {
  const Message& m = lane.message;
  std::string text;
  std::string_view first;
  for (const int index : {plan.rxg, plan.rxe, plan.rxo, plan.rxd}) {
    if (index < 0 || is_shifted(lane, index)) continue;
    const Segment& s = segment_at(lane, index);
    const DetailLayout& at = layout_of(s.name);
    add_directions(lane, m.field(s, at.note1), text, first);
    add_directions(lane, m.field(s, at.note2), text, first);
  }
  for (int i = plan.begin; i < plan.end; ++i) {
    const Segment& s = segment_at(lane, i);
    if (s.name == "NTE") add_directions(lane, m.field(s, 3), text, first);
    if (s.name == "TQ1") add_directions(lane, m.field(s, 11), text, first);
  }
  if (text.empty()) return;
  engine::set_field(lane.context, lane.block, lane.lane, FieldId::OrderDirections,
                    lane.block.keep(text), lane.origin(first));
}

}  // namespace

const DetailLayout& layout_of(std::string_view segment) {
  const auto* at = std::ranges::find(kLayouts, segment, &DetailLayout::name);
  return at == kLayouts.end() ? kLayouts[0] : *at;
}

bool looks_shifted(const Message& message, const Segment& segment) {
  if (segment.name != "RXO" && segment.name != "RXE") return false;
  const DetailLayout& at = layout_of(segment.name);
  // `RXO|1|code^name|...`: a set id where the product should be, and the product after it.
  const std::string_view here = trim(message.field(segment, at.code));
  const std::string_view next = message.field(segment, at.code + 1U);
  const bool set_id = !here.empty() && here.size() <= 2 && looks_numeric(here);
  return set_id &&
         message.find_in(next, message.delimiters().component) != std::string_view::npos &&
         !looks_numeric(trim(message.first(next, 1)));
}

void read_substance(const Lane& lane, const OrderPlan& plan) {
  const Message& m = lane.message;
  const std::string_view coded = product(lane, plan);
  if (coded.empty()) return;
  const std::string_view known = known_substance(lane, coded);
  if (!known.empty()) lane.set(FieldId::SubstanceCode, known);
  const std::string_view name = lane.name_of(coded);
  const char truncation = lane.coding.delimiters.truncation;
  if (truncation != 0 && !name.empty() && name.back() == truncation) {
    lane.doubt(FieldId::SubstanceName, "the sender cut the name short", name);
    return;
  }
  if (name.data() != m.component(coded, 1).data() || known.empty())
    lane.set(FieldId::SubstanceName, name);
}

namespace {
/// The form, unless what stands there is the route or the product once more.
void read_form(const Lane& lane, const Segment& s, const DetailLayout& at) {
  const Message& m = lane.message;
  const std::string_view form = m.repetition(m.field(s, at.form), 0);
  const bool is_route = m.component(form, 3).find("0162") != std::string_view::npos ||
                        route_code(m.component(form, 1)).has_value();
  const bool is_product =
      m.component(form, 1) == m.component(m.repetition(m.field(s, at.code), 0), 1);
  if (!is_route && !is_product && s.name != "RXA")
    lane.set(FieldId::SubstanceForm, lane.name_of(form));
}

/// What the segment of the medicine itself says, at `detail`.
void read_detail(const Lane& lane, int detail) {
  const Message& m = lane.message;
  const Segment& s = segment_at(lane, detail);
  const DetailLayout& at = layout_of(s.name);
  if (is_shifted(lane, detail)) {
    lane.doubt(FieldId::Dose, "fields look shifted: a set id stands where the medicine should",
               m.field(s, at.code));
    return;
  }
  read_dose(lane, s, FieldId::Dose, FieldId::DoseHigh);
  read_strength(lane, s, FieldId::Strength);
  read_form(lane, s, at);
  if (at.dispense != 0) read_supply(lane, s);
  if (at.expires != 0) lane.set_date(FieldId::VialExpires, m.first(m.field(s, at.expires), 1));
  const std::string_view indication = lane.name_of(m.repetition(m.field(s, at.indication), 0));
  if (indication.size() > 1) lane.set(FieldId::OrderIndication, indication);
}
}  // namespace

void read_medicine(const Lane& lane, const OrderPlan& plan) {
  const int detail = plan.detail();
  read_substance(lane, plan);
  if (detail >= 0) read_detail(lane, detail);
  if (plan.rxe >= 0 && plan.rxe != detail && plan.rxa < 0 && !lane.is_present(FieldId::Dose))
    read_dose(lane, segment_at(lane, plan.rxe), FieldId::Dose, FieldId::DoseHigh);
  volume_from_dose(lane);
  compare_request(lane, plan);
  if (plan.rxd >= 0) read_dispensed(lane, segment_at(lane, plan.rxd));
  if (plan.rxa < 0) read_components(lane, plan);
  if (plan.rxa < 0) read_directions(lane, plan);
}

}  // namespace meniscus::adapters::hl7v2
