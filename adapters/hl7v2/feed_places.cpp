// Where this site keeps a fact, by the feed's profile: a field of any segment (Z segments too), or
// an observation.  What the profile names counts before what the standard's field says.
#include "adapters/hl7v2/codes.hpp"
#include "adapters/hl7v2/order_fields.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::FieldId;
using engine::FieldKind;

bool is_observation(const Lane& lane, const Segment& s, const std::string& name) {
  const Message& m = lane.message;
  const std::string_view coded = m.repetition(m.field(s, 3), 0);
  const std::string wanted = upper(name);
  for (const unsigned component : {1U, 2U, 4U, 5U})
    if (upper(lane.text(m.component(coded, component))) == wanted) return true;
  return false;
}

/// The place's segment in the order, else in the message.
const Segment* segment_of(const Lane& lane, const OrderPlan& plan, const engine::Hl7Place& place) {
  const auto& segments = lane.message.segments();
  const Segment* elsewhere = nullptr;
  for (std::size_t i = 0; i < segments.size(); ++i) {
    const Segment& s = segments[i];
    if (s.name != place.segment) continue;
    if (!place.observation.empty() && !is_observation(lane, s, place.observation)) continue;
    const int at = static_cast<int>(i);
    if (at >= plan.begin && at < plan.end) return &s;
    // Another order's segment says nothing about this one, but the patient's does.
    const bool of_patient = engine::info(place.field).name.starts_with("patient.");
    if (elsewhere == nullptr && (of_patient || at < plan.begin)) elsewhere = &s;
  }
  if (elsewhere == nullptr || engine::info(place.field).name.starts_with("patient."))
    return elsewhere;
  // Before the order: only what stands before the first order holds for all of them.
  const Segment* first_order = lane.message.find("ORC");
  return first_order == nullptr || elsewhere->begin < first_order->begin ? elsewhere : nullptr;
}

bool is_date(FieldKind kind) { return kind == FieldKind::Date || kind == FieldKind::MonthEnd; }

bool is_hl7_time(std::string_view text) {
  return !text.empty() &&
         text.find_first_not_of(std::string_view("0123456789+-.")) == std::string_view::npos &&
         text.find('-') != 4;
}

bool takes_unit(FieldKind kind) {
  return kind == FieldKind::Quantity || kind == FieldKind::Amount || kind == FieldKind::Strength ||
         kind == FieldKind::AmountPerBodyMass;
}

void read_place(const Lane& lane, const OrderPlan& plan, const engine::Hl7Place& place) {
  const Segment* s = segment_of(lane, plan, place);
  if (s == nullptr) return;
  const Message& m = lane.message;
  const bool observed = !place.observation.empty();
  const auto number =
      static_cast<unsigned>(observed && place.field_number == 0 ? 5 : place.field_number);
  std::string_view raw = m.field(*s, number);
  const FieldKind kind = engine::info(place.field).kind;
  if (place.component > 0) raw = m.first(raw, static_cast<unsigned>(place.component));
  raw = trim(raw);
  if (raw.empty()) return;
  if (observed && takes_unit(kind) && looks_numeric(raw) && !trim(m.field(*s, 6)).empty()) {
    lane.set_amount(place.field, raw, m.field(*s, 6));
  } else if (is_date(kind) && is_hl7_time(raw)) {
    lane.set_date(place.field, raw);
  } else {
    lane.set(place.field, raw);
  }
}

}  // namespace

void read_feed_places(const Lane& lane, const OrderPlan& plan) {
  for (const engine::Hl7Place& place : lane.context.feed->hl7)
    read_place(lane, plan, place);
}

}  // namespace meniscus::adapters::hl7v2
