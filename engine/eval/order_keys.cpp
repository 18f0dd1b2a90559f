// Keys of orders (contract: order_keys.hpp).
#include "engine/eval/order_keys.hpp"

#include <algorithm>
#include <bit>
#include <cstring>

#include "engine/eval/engine_value.hpp"
#include "engine/program/node_walk.hpp"

namespace meniscus::engine {
namespace {

void add(std::vector<FieldId>& fields, FieldId field) {
  if (std::find(fields.begin(), fields.end(), field) == fields.end()) fields.push_back(field);
}

void mix_value(OrderKey& key, const Value& value) {
  key.mix(static_cast<std::uint64_t>(value.state));
  key.mix(std::bit_cast<std::uint64_t>(value.number));
  key.mix(value.aux);
  key.mix(value.text);
}

}  // namespace

void OrderKey::mix(std::string_view text) {
  mix(text.size());
  while (!text.empty()) {
    std::uint64_t word = 0;
    const std::size_t n = std::min(text.size(), sizeof word);
    std::memcpy(&word, text.data(), n);
    mix(word);
    text.remove_prefix(n);
  }
}

bool is_left_out(FieldId field) {
  switch (info(field).kind) {
    case FieldKind::Id:
    case FieldKind::Date:
    case FieldKind::MonthEnd:
      return true;
    default:
      return field == FieldId::PatientAge || field == FieldId::PatientWeight ||
             field == FieldId::PatientHeight;
  }
}

OrderKeys::OrderKeys(const Program& program) {
  NodeWalk walk(program);
  std::vector<FieldId> fields;
  const auto visit = [&](NodeId, const Node& node) {
    if (node.op == Op::Field) add(fields, static_cast<FieldId>(node.a));
    if (node.op == Op::Written) {
      add(fields, static_cast<FieldId>(node.a));
      if (!is_left_out(static_cast<FieldId>(node.a))) {
        add(written_, static_cast<FieldId>(node.a));
      }
    }
    if (node.op != Op::Engine) return;
    for (const FieldId field : engine_value_reads(static_cast<EngineValue>(node.a)))
      add(fields, field);
    for (const FieldId field : engine_values()[node.a].needs)
      add(fields, field);
  };
  for (const Rule& rule : program.rules) {
    walk.from(rule.concerns, visit);
    for (const Clause& clause : rule.clauses)
      walk.from(clause.when, visit);
  }
  // Whether doses can be counted, and whether there is a day beside today.
  for (const FieldId field :
       {FieldId::SupplyDoses, FieldId::ScheduleEnd, FieldId::ScheduleStart, FieldId::OrderPlaced})
    add(fields, field);
  std::sort(fields.begin(), fields.end());
  for (const FieldId field : fields)
    fields_.push_back({field, part_of(field)});
  std::sort(written_.begin(), written_.end());
}

void OrderKeys::begin(const OrderBlock& block, Lanes lanes) {
  each_lane(lanes, [&](unsigned lane) {
    keys_[lane] = {0x243F6A8885A308D3U, 0x13198A2E03707344U};  // of pi: numbers up no sleeve
  });
  for (const Read& read : fields_)
    mix_field(block, read, lanes);
  for (const FieldId field : written_) {
    each_lane(lanes & block.column(field).present, [&](unsigned lane) {
      keys_[lane].mix(0x200U + static_cast<std::uint64_t>(field));
      keys_[lane].mix(block.written(lane, field));
    });
  }
}

OrderKeys::Part OrderKeys::part_of(FieldId field) {
  if (is_left_out(field)) return Part::State;
  const FieldKind kind = info(field).kind;
  if (is_list(kind)) return Part::List;
  return kind == FieldKind::Text ? Part::WithText : Part::Value;
}

void OrderKeys::mix_field(const OrderBlock& block, const Read& read, Lanes lanes) {
  const OrderBlock::Column& column = block.column(read.field);
  const auto number = static_cast<std::uint64_t>(read.field);
  each_lane(lanes & column.none, [&](unsigned lane) { keys_[lane].mix(0x100U + number); });
  each_lane(lanes & column.known, [&](unsigned lane) {
    OrderKey& key = keys_[lane];
    key.mix(number);
    if (read.part == Part::State) return;
    if (read.part == Part::List) return mix_list(block, lane, column.aux[lane]);
    key.mix(std::bit_cast<std::uint64_t>(column.number[lane]));
    key.mix(column.aux[lane]);
    // A word that no table knows is told apart by its text.
    if (read.part == Part::WithText || column.aux[lane] == kNoWord) key.mix(column.text[lane]);
  });
}

void OrderKeys::mix_list(const OrderBlock& block, unsigned lane, std::uint64_t list) {
  OrderKey& key = keys_[lane];
  const std::uint32_t count = OrderBlock::item_count(list);
  key.mix(count);
  for (std::uint32_t i = 0; i < count; ++i) {
    const ListItem& item = block.items(list)[i];
    mix_value(key, item.self);
    for (const Value& part : item.parts)
      mix_value(key, part);
  }
}

}  // namespace meniscus::engine
