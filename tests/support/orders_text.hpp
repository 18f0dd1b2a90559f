// Orders from a text, whatever the reader, as lanes that a test can look at and compare.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/input/byte_sources.hpp"
#include "engine/order/field_text.hpp"
#include "engine/ports/order_source.hpp"

namespace meniscus::tests {

/// One order as plain text: everything that a reader has set, and what it says about places.
struct ReadOrder {
  engine::RecordKind kind = engine::RecordKind::Order;
  std::string reason;
  engine::Place place;              // of the record
  std::vector<std::string> fields;  // "volume = 250 `0.25 mL` at /volume"
  std::vector<std::string> values;  // the same without places
  std::vector<std::string> doubts;  // "volume: reason"
};

inline std::string describe_value(const engine::OrderBlock& block, const engine::Value& value) {
  if (value.state == engine::State::None) return "none";
  if (value.state == engine::State::Missing) return "missing";
  std::string text = std::to_string(value.number) + " " + std::string(value.text);
  (void)block;
  return text;
}

inline std::string describe_field(const engine::OrderBlock& block, unsigned lane,
                                  const engine::FieldInfo& field) {
  const engine::Value value = block.value(lane, field.id);
  std::string text = std::string(field.name) + " = " + describe_value(block, value);
  const bool list =
      field.kind == engine::FieldKind::Words || field.kind == engine::FieldKind::Components ||
      field.kind == engine::FieldKind::Steps || field.kind == engine::FieldKind::Sites;
  if (!list) text += " aux " + std::to_string(value.aux);
  if (list && value.known()) {
    const engine::ListItem* items = block.items(value.aux);
    for (std::uint32_t i = 0; i < engine::OrderBlock::item_count(value.aux); ++i) {
      text += " [" + describe_value(block, items[i].self);
      for (const engine::Value& part : items[i].parts)
        text += "|" + describe_value(block, part);
      text += "]";
    }
  }
  if (block.from_text(lane, field.id)) text += " from text";
  return text;
}

inline ReadOrder describe_lane(const engine::OrderSource& source, const engine::OrderBlock& block,
                               unsigned lane) {
  ReadOrder order;
  order.kind = block.record(lane).kind;
  order.reason = block.record(lane).reason;
  order.place = source.record_place(block, lane);
  for (const engine::FieldInfo& field : engine::fields()) {
    if ((block.column(field.id).present >> lane & 1U) == 0) continue;
    const std::string text = describe_field(block, lane, field);
    const engine::Place place = source.place(block, lane, field.id, block.origin(lane, field.id));
    order.values.push_back(text);
    order.fields.push_back(text + " `" + std::string(block.written(lane, field.id)) + "` at " +
                           place.at + " " + std::to_string(place.line) + ":" +
                           std::to_string(place.column) + " " + place.excerpt);
  }
  for (const engine::Doubt& doubt : block.doubts())
    if (doubt.lane == lane)
      order.doubts.push_back(std::string(engine::info(doubt.field).name) + ": " + doubt.reason);
  return order;
}

inline std::vector<ReadOrder> read_all(engine::OrderSource& source) {
  std::vector<ReadOrder> orders;
  engine::OrderBlock block;
  while (source.next(block))
    for (unsigned lane = 0; lane < block.size(); ++lane)
      orders.push_back(describe_lane(source, block, lane));
  return orders;
}

inline engine::Input input_of(std::string_view text, std::size_t at_once = std::string::npos) {
  return {"orders", adapters::memory_bytes(std::string(text), at_once), 0};
}

/// What a reader makes of a text that it gets in pieces of `at_once` bytes, without a rule set.
/// `make` takes the input, the context and the limits.
template <class Make, class Limits>
std::vector<ReadOrder> read_text(const Make& make, std::string_view text, std::size_t at_once,
                                 const Limits& limits, const engine::Feed& feed = {}) {
  const auto source = make(input_of(text, at_once), engine::ReadContext{nullptr, &feed}, limits);
  return read_all(*source);
}

}  // namespace meniscus::tests
