// Contract: see record_image.hpp.
#include "adapters/replay/record_image.hpp"

#include <cmath>
#include <cstring>
#include <functional>
#include <limits>
#include <type_traits>
#include <vector>

#include "engine/order/field_text.hpp"

namespace meniscus::adapters::replay {

namespace {
using engine::FieldId;
using engine::ListItem;
using engine::OrderBlock;
using engine::State;
using engine::Value;

template <class T>
void put(std::string& out, const T& value) {
  static_assert(std::is_trivially_copyable_v<T>);
  const std::size_t at = out.size();
  out.resize(at + sizeof value);
  std::memcpy(out.data() + at, &value, sizeof value);
}

void put_text(std::string& out, std::string_view text) {
  put(out, static_cast<std::uint32_t>(text.size()));
  out += text;
}

/// Takes an image apart from front to back.
class Cursor {
 public:
  explicit Cursor(std::string_view bytes) : rest_(bytes) {}

  template <class T>
  T take() {
    static_assert(std::is_trivially_copyable_v<T>);
    T value{};
    std::memcpy(&value, rest_.data(), sizeof value);
    rest_.remove_prefix(sizeof value);
    return value;
  }
  std::string_view text() {
    const auto size = take<std::uint32_t>();
    const std::string_view text = rest_.substr(0, size);
    rest_.remove_prefix(size);
    return text;
  }

 private:
  std::string_view rest_;
};

/// What is said of a field in one byte, beside its state.
constexpr std::uint8_t kFromText = 4;
constexpr std::uint8_t kWrittenApart = 8;  // not the same letters as the value's text
constexpr std::uint8_t kNumber = 16;
constexpr std::uint8_t kAux = 32;
constexpr std::uint8_t kStateBits = 3;

void put_value(std::string& out, const Value& value) {
  put(out, value.state);
  put(out, value.number);
  put(out, value.aux);
  put_text(out, value.text);
}

Value take_value(Cursor& from) {
  Value value;
  value.state = from.take<State>();
  value.number = from.take<double>();
  value.aux = from.take<std::uint64_t>();
  value.text = from.text();
  return value;
}

void put_items(std::string& out, const OrderBlock& block, std::uint64_t aux) {
  const std::uint32_t count = OrderBlock::item_count(aux);
  put(out, count);
  for (std::uint32_t i = 0; i < count; ++i) {
    const ListItem& item = block.items(aux)[i];
    put_value(out, item.self);
    for (const Value& part : item.parts)
      put_value(out, part);
    put_text(out, item.written);
  }
}

std::uint64_t take_items(Cursor& from, OrderBlock& block) {
  std::vector<ListItem> items(from.take<std::uint32_t>());
  for (ListItem& item : items) {
    item.self = take_value(from);
    for (Value& part : item.parts)
      part = take_value(from);
    item.written = from.text();
  }
  return block.add_items(items);
}

void put_field(std::string& out, const OrderBlock& block, unsigned lane, FieldId field) {
  const Value value = block.value(lane, field);
  const std::string_view written = block.written(lane, field);
  const bool list = engine::is_list(engine::info(field).kind) && value.known();
  auto said = static_cast<std::uint8_t>(value.state);
  if (block.from_text(lane, field)) said |= kFromText;
  if (written != value.text) said |= kWrittenApart;
  if (value.number != 0) said |= kNumber;
  if (!list && value.aux != 0) said |= kAux;
  put(out, field);
  put(out, said);
  if ((said & kNumber) != 0) put(out, value.number);
  if ((said & kAux) != 0) put(out, value.aux);
  put_text(out, value.text);
  if ((said & kWrittenApart) != 0) put_text(out, written);
  if (list) put_items(out, block, value.aux);
}

void take_field(Cursor& from, OrderBlock& block, unsigned lane) {
  const auto field = from.take<FieldId>();
  const auto said = from.take<std::uint8_t>();
  Value value;
  value.state = static_cast<State>(said & kStateBits);
  if ((said & kNumber) != 0) value.number = from.take<double>();
  if ((said & kAux) != 0) value.aux = from.take<std::uint64_t>();
  value.text = from.text();
  const std::string_view written = (said & kWrittenApart) != 0 ? from.text() : value.text;
  if (engine::is_list(engine::info(field).kind) && value.known())
    value.aux = take_items(from, block);
  block.set(lane, field, value, written, {}, (said & kFromText) != 0);
}

std::uint32_t put_fields(std::string& out, const OrderBlock& block, unsigned lane) {
  std::uint32_t count = 0;
  for (const engine::FieldInfo& field : engine::fields()) {
    if ((block.column(field.id).present >> lane & 1U) == 0) continue;
    put_field(out, block, lane, field.id);
    ++count;
  }
  return count;
}

void put_doubts(std::string& out, const OrderBlock& block, unsigned lane) {
  for (const engine::Doubt& doubt : block.doubts()) {
    if (doubt.lane != lane) continue;
    put(out, doubt.field);
    put_text(out, doubt.reason);
    put_text(out, doubt.written);
  }
}

std::uint32_t count_doubts(const OrderBlock& block, unsigned lane) {
  std::uint32_t count = 0;
  for (const engine::Doubt& doubt : block.doubts())
    count += doubt.lane == lane ? 1U : 0U;
  return count;
}

/// When the program that received it would have: its message's date, else the day on which it was
/// written, else when it was given.
double received(const OrderBlock& block, unsigned lane) {
  for (const Value& date : {block.message_date(lane), block.value(lane, FieldId::OrderPlaced),
                            block.value(lane, FieldId::OrderGiven)}) {
    if (date.known()) return date.number;
  }
  return std::numeric_limits<double>::quiet_NaN();
}

engine::Word order_of(const OrderBlock& block, unsigned lane) {
  const Value placer = block.value(lane, FieldId::OrderId);
  return placer.known() ? placer.aux : block.value(lane, FieldId::OrderFiller).aux;
}
}  // namespace

void append_image(const OrderBlock& block, unsigned lane, ImageHead head, std::string& out) {
  const std::size_t start = out.size();
  const engine::RecordInfo& record = block.record(lane);
  head.received = received(block, lane);
  head.patient = block.value(lane, FieldId::PatientId).aux;
  head.order = order_of(block, lane);
  head.kind = record.kind;
  if (record.kind == engine::RecordKind::Merge) head.former = engine::id_hash(record.former);
  put(out, head);
  put(out, block.message_date(lane).known());
  if (block.message_date(lane).known()) put_value(out, block.message_date(lane));
  const std::size_t content = out.size();
  put_text(out, record.reason);
  put_text(out, record.former);
  put(out, count_doubts(block, lane));
  put_doubts(out, block, lane);
  const std::size_t count_at = out.size();
  put(out, std::uint32_t{0});
  const std::uint32_t count = put_fields(out, block, lane);
  std::memcpy(out.data() + count_at, &count, sizeof count);
  head.size = static_cast<std::uint32_t>(out.size() - start);
  head.content = std::hash<std::string_view>{}(std::string_view(out).substr(content));
  std::memcpy(out.data() + start, &head, sizeof head);
}

ImageHead head_of(std::string_view bytes) { return Cursor(bytes).take<ImageHead>(); }

void open_image(std::string_view image, OrderBlock& block) {
  Cursor from(image);
  const auto head = from.take<ImageHead>();
  const unsigned lane = block.add_lane();
  engine::RecordInfo& record = block.record(lane);
  record.kind = head.kind;
  record.file = head.file;
  record.line = head.line;
  if (from.take<bool>()) {
    const Value date = take_value(from);
    block.set_message_date(lane, engine::unpack(date.number, date.aux));
  }
  record.reason = from.text();
  record.former = from.text();
  const auto doubts = from.take<std::uint32_t>();
  for (std::uint32_t i = 0; i < doubts; ++i) {
    const auto field = from.take<FieldId>();
    const std::string_view reason = from.text();
    block.doubt(lane, field, std::string(reason), from.text(), {});
  }
  // After the doubts: a field in doubt may have got its value from elsewhere.
  const auto fields = from.take<std::uint32_t>();
  for (std::uint32_t i = 0; i < fields; ++i)
    take_field(from, block, lane);
}

}  // namespace meniscus::adapters::replay
