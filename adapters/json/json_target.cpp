// Contract: see json_target.hpp.
#include "adapters/json/json_target.hpp"
#include "engine/order/said_none.hpp"

namespace meniscus::adapters {

using engine::FieldId;
using engine::FieldKind;
using engine::Value;

bool is_quantity(FieldKind kind) {
  return kind == FieldKind::Quantity || kind == FieldKind::Amount || kind == FieldKind::Strength ||
         kind == FieldKind::AmountPerBodyMass;
}

bool takes_number(FieldKind kind) {
  return is_quantity(kind) || kind == FieldKind::Count || kind == FieldKind::Gauge ||
         kind == FieldKind::Id;
}

JsonTarget::JsonTarget(const engine::ReadContext& feed_context)
    : context(feed_context), json_feed(*feed_context.feed), numbers(feed_context) {
  json_feed.decimal = engine::DecimalMark::Point;
  numbers.feed = &json_feed;
  context.memo = &texts_read;
  numbers.memo = &numbers_read;
}

void JsonTarget::start(engine::OrderBlock& into, unsigned into_lane, std::string_view text) {
  block = &into;
  lane = into_lane;
  record = text;
  seen.reset();
  guess.start();
  places.at(lane).fill(kNowhere);
}

void JsonTarget::no_group(std::uint8_t group, std::string_view token) const {
  const std::string_view name = JsonKeys::instance().group_name(group);
  if (name == "order" || name == "patient" || name == "substance" || name == "stated") return;
  for (const FieldId field : JsonKeys::instance().fields_of(group))
    set(field, engine::said_none(field), token);
}

void JsonTarget::list_word(FieldId field, std::string_view content, std::string_view token) {
  engine::ListItem& item = items.emplace_back();
  item.origin = origin_of(token);
  item.written = content;
  item.self = engine::read_list_word(context, field, content);
}

void JsonTarget::set_list(FieldId field, std::string_view whole) const {
  Value all = Value::none();
  if (!items.empty()) {
    all.state = engine::State::Known;
    all.aux = block->add_items(items);
  }
  set(field, all, whole);
}

}  // namespace meniscus::adapters
