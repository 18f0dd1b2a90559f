// Where this site keeps a fact, by the feed's profile: a field of any segment (Z segments too), or
// an observation.  What the profile names counts before what the standard's field says.
#include <algorithm>

#include "adapters/hl7v2/codes.hpp"
#include "adapters/hl7v2/order_fields.hpp"
#include "engine/base/ascii.hpp"

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

bool is_of_patient(FieldId field) { return engine::info(field).name.starts_with("patient."); }

/// The place's segment in the order, else in the message.
const Segment* segment_of(const Lane& lane, const OrderPlan& plan, const FeedPlace& wanted) {
  const auto& segments = lane.message.segments();
  const engine::Hl7Place& place = *wanted.place;
  const Segment* elsewhere = nullptr;
  for (std::size_t i = 0; i < segments.size(); ++i) {
    const Segment& s = segments[i];
    if (s.name != place.segment) continue;
    if (!place.observation.empty() && !is_observation(lane, s, place.observation)) continue;
    const int at = static_cast<int>(i);
    if (at >= plan.begin && at < plan.end) return &s;
    // Another order's segment says nothing about this one, but the patient's does.
    if (elsewhere == nullptr && (wanted.of_patient || at < plan.begin)) elsewhere = &s;
  }
  if (elsewhere == nullptr || wanted.of_patient) return elsewhere;
  // Before the order: only what stands before the first order holds for all of them.
  const Segment* first_order = lane.message.find("ORC");
  return first_order == nullptr || elsewhere->begin < first_order->begin ? elsewhere : nullptr;
}

bool is_date(FieldKind kind) { return kind == FieldKind::Date || kind == FieldKind::MonthEnd; }

bool is_hl7_time(std::string_view text) {
  const bool fits = std::ranges::all_of(
      text, [](char c) { return engine::ascii::is_digit(c) || c == '+' || c == '-' || c == '.'; });
  return fits && !text.empty() && text.find('-') != 4;
}

bool takes_unit(FieldKind kind) {
  return kind == FieldKind::Quantity || kind == FieldKind::Amount || kind == FieldKind::Strength ||
         kind == FieldKind::AmountPerBodyMass;
}

void read_place(const Lane& lane, const Segment& s, const FeedPlace& wanted) {
  const Message& m = lane.message;
  const engine::Hl7Place& place = *wanted.place;
  const bool observed = !place.observation.empty();
  const auto number =
      static_cast<unsigned>(observed && place.field_number == 0 ? 5 : place.field_number);
  std::string_view raw = m.field(s, number);
  if (place.component > 0) raw = m.first(raw, static_cast<unsigned>(place.component));
  raw = trim(raw);
  if (raw.empty()) return;
  if (observed && wanted.takes_unit && looks_numeric(raw) && !trim(m.field(s, 6)).empty()) {
    lane.set_amount(place.field, raw, m.field(s, 6));
  } else if (wanted.is_date && is_hl7_time(raw)) {
    lane.set_date(place.field, raw);
  } else {
    lane.set(place.field, raw);
  }
}

}  // namespace

std::vector<FeedPlace> feed_places(const engine::Feed& feed) {
  std::vector<FeedPlace> places;
  for (const engine::Hl7Place& place : feed.hl7) {
    FeedPlace made;
    made.place = &place;
    const FieldKind kind = engine::info(place.field).kind;
    made.of_patient = is_of_patient(place.field);
    made.is_date = is_date(kind);
    made.takes_unit = takes_unit(kind);
    if (!places.empty()) {
      const FeedPlace& last = places.back();
      made.as_before = place.observation.empty() && last.place->observation.empty() &&
                       place.segment == last.place->segment && made.of_patient == last.of_patient;
    }
    places.push_back(made);
  }
  return places;
}

void read_feed_places(const Lane& lane, const OrderPlan& plan,
                      const std::vector<FeedPlace>& places) {
  const Segment* segment = nullptr;
  for (const FeedPlace& place : places) {
    if (!place.as_before) segment = segment_of(lane, plan, place);
    if (segment != nullptr) read_place(lane, *segment, place);
  }
}

}  // namespace meniscus::adapters::hl7v2
