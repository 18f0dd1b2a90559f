// Bodies by their bytes (contract: body_memo.hpp).
#include "adapters/hl7v2/body_memo.hpp"

#include <algorithm>
#include <array>

#include "engine/base/bytes_hash.hpp"
#include "engine/order/vocabulary.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::FieldId;
using engine::Origin;
using engine::Value;

constexpr std::size_t kMostSegments = 16;
constexpr std::size_t kMostFields = 200;  // of a segment
constexpr std::size_t kMostEffects = 48;
constexpr std::size_t kOnce = 4096;

/// All that reading a body looks at; observations, the patient and Z segments are read elsewhere.
bool is_body(std::string_view name) {
  return name == "RXE" || name == "RXR" || name == "TQ1" || name == "RXO" || name == "RXC" ||
         name == "RXG" || name == "RXD" || name == "NTE";
}

/// Fields that the outcome does not depend on: first to last, 0 for none.
struct Hole {
  unsigned first = 0;
  unsigned last = 0;
};
Hole hole_of(std::string_view name) {
  if (name == "TQ1") return {7, 8};
  if (name == "RXE") return {13, 20};
  return {};
}

bool has_components(const Message& m, const Segment& segment, unsigned number) {
  return m.find_in(m.field(segment, number), m.delimiters().component) != std::string_view::npos;
}

/// Timings of the old type, which are merged with that of TQ1.
bool has_old_timing(const Message& m, const OrderPlan& plan) {
  const auto& segments = m.segments();
  const auto has = [&](int index, unsigned number) {
    return index >= 0 && has_components(m, segments[static_cast<std::size_t>(index)], number);
  };
  return has(plan.orc, 7) || has(plan.rxe, 1) || has(plan.rxg, 3);
}

}  // namespace

void BodyMemo::add_bytes(const Message& message, const Segment& segment) {
  const std::string_view text = message.text();
  const Hole hole = hole_of(segment.name);
  const auto add = [&](std::uint32_t from, std::uint32_t to) {
    key_.append(text.data() + from, to - from);
  };
  if (hole.first == 0 || segment.fields < hole.first) {
    add(segment.begin, segment.end);
  } else {
    add(segment.begin, message.field_begin(segment, hole.first));
    key_ += '\0';  // what is left out, as against what is empty
    if (segment.fields > hole.last) add(message.field_begin(segment, hole.last + 1), segment.end);
  }
  key_ += '\r';
}

void BodyMemo::add_separators(const Lane& lane) {
  const Delimiters& d = lane.coding.delimiters;
  const std::array<char, 6> separators = {d.field,  d.component,    d.repetition,
                                          d.escape, d.subcomponent, d.truncation};
  key_.append(separators.data(), separators.size());
  const bool has_offset = lane.message_date && lane.message_date->has_offset;
  const std::int16_t offset = has_offset ? lane.message_date->offset_minutes : std::int16_t{0};
  const auto bits = static_cast<std::uint16_t>(offset);
  key_ += has_offset ? 'z' : '-';
  key_ += static_cast<char>(bits & 0xFFU);
  key_ += static_cast<char>(bits >> 8U);
  key_ += lane.coding.characters.name;
  key_ += '\r';
}

/// The key of this order's body; false when it is none that is remembered.
bool BodyMemo::take_body(const Lane& lane, const OrderPlan& plan) {
  const Message& m = lane.message;
  if (plan.rxa >= 0 || plan.detail() < 0 || lane.coding.characters.hides_separators()) return false;
  if (has_old_timing(m, plan)) return false;
  key_.clear();
  segments_.clear();
  timing_ = nullptr;
  add_separators(lane);
  for (int i = plan.begin; i < plan.end; ++i) {
    const Segment& s = m.segments()[static_cast<std::size_t>(i)];
    if (s.glued) return false;
    if (!is_body(s.name)) continue;
    if (s.name == "TQ1" && timing_ != nullptr) return false;
    if (s.name == "TQ1") timing_ = &s;
    const bool fits = key_.size() + (s.end - s.begin) <= kLongest && s.fields <= kMostFields;
    if (!fits || segments_.size() == kMostSegments) return false;
    segments_.push_back(&s);
    add_bytes(m, s);
  }
  hash_ = engine::bytes_hash(key_);
  return true;
}

BodyMemo::Entry* BodyMemo::find() {
  if (entries_.empty()) return nullptr;
  const std::size_t pair = hash_ >> 33U & (kEntries - 2);
  for (const std::size_t i : {pair, pair + 1})
    if (entries_[i].hash == hash_ && entries_[i].key == key_) return &entries_[i];
  return nullptr;
}

bool BodyMemo::recall(const Lane& lane, const OrderPlan& plan) {
  keeps_ = false;
  if (!take_body(lane, plan)) return false;
  if (Entry* entry = find()) {
    entry->used = ++turn_;
    replay(lane, *entry);
    set_dates(lane);
    return true;
  }
  if (once_.empty()) once_.resize(kOnce);
  std::uint64_t& before = once_[hash_ >> 20U & (kOnce - 1)];
  if (before != hash_) {
    before = hash_;
    return false;
  }
  keeps_ = true;
  doubts_before_ = lane.block.doubts().size();
  before_.reset();
  for (const engine::FieldInfo& info : engine::fields())
    if (lane.is_present(info.id)) before_.set(engine::index(info.id));
  return false;
}

/// As read_timing() does with a TQ1 alone.
void BodyMemo::set_dates(const Lane& lane) const {
  if (timing_ == nullptr) return;
  const Message& m = lane.message;
  lane.set_date(FieldId::ScheduleStart, m.first(m.field(*timing_, 7), 1));
  lane.set_date(FieldId::ScheduleEnd, m.first(m.field(*timing_, 8), 1));
}

std::uint32_t BodyMemo::offset_of(const Message& message, Spot spot) const {
  return message.field_begin(*segments_[spot.segment], spot.field) + spot.byte;
}

std::string_view BodyMemo::text_of(const Lane& lane, const Entry& entry, const Text& text) const {
  switch (text.from) {
    case From::Nowhere:
      return {};
    case From::Body: {
      const std::uint32_t begin = offset_of(lane.message, text.span.begin);
      return lane.message.text().substr(begin, offset_of(lane.message, text.span.end) - begin);
    }
    case From::Program:
      return text.view;
    case From::Kept:
      return lane.block.keep(std::string_view(entry.kept).substr(text.begin, text.size));
  }
  return {};
}

void BodyMemo::replay(const Lane& lane, const Entry& entry) const {
  for (const Effect& e : entry.effects) {
    Origin origin;
    if (e.has_origin) {
      origin.offset = offset_of(lane.message, e.origin.begin);
      origin.length = offset_of(lane.message, e.origin.end) - origin.offset;
    }
    const std::string_view written = text_of(lane, entry, e.written);
    const std::string_view text = e.same_text ? written : text_of(lane, entry, e.text);
    lane.block.set(lane.lane, e.field, {e.number, e.aux, text, e.state}, written, origin,
                   e.from_text);
  }
}

/// False for a byte that is in no segment of the body, or in a field that was left out.
bool BodyMemo::spot_of(const Message& message, std::uint32_t offset, Spot& spot) const {
  for (std::size_t i = 0; i < segments_.size(); ++i) {
    const Segment& s = *segments_[i];
    if (offset < s.begin || offset > s.end) continue;
    unsigned field = 0;
    while (field < s.fields && message.field_begin(s, field + 1) <= offset)
      ++field;
    const Hole hole = hole_of(s.name);
    if (hole.first != 0 && field >= hole.first && field <= hole.last) return false;
    spot = {static_cast<std::uint8_t>(i), static_cast<std::uint8_t>(field),
            static_cast<std::uint16_t>(offset - message.field_begin(s, field))};
    return true;
  }
  return false;
}

bool BodyMemo::span_of(const Message& message, Origin origin, Span& span) const {
  return spot_of(message, origin.offset, span.begin) &&
         spot_of(message, origin.offset + origin.length, span.end);
}

/// How `view` is found again; false when it cannot be.
bool BodyMemo::describe(const Lane& lane, FieldId field, std::string_view view, Text& text,
                        Entry& entry) const {
  if (view.empty()) return true;
  const std::string_view all = lane.message.text();
  if (view.data() >= all.data() && view.data() < all.data() + all.size()) {
    text.from = From::Body;
    return span_of(lane.message, lane.origin(view), text.span);
  }
  if (lane.context.program != nullptr) {
    const auto* word = lane.context.program->vocabularies[engine::index(field)].find(view);
    if (word != nullptr && word->name.data() == view.data()) {
      text.from = From::Program;
      text.view = view;
      return true;
    }
  }
  text.from = From::Kept;
  text.begin = static_cast<std::uint32_t>(entry.kept.size());
  text.size = static_cast<std::uint32_t>(view.size());
  entry.kept += view;
  return entry.kept.size() <= 4 * kLongest;
}

bool BodyMemo::describe(const Lane& lane, FieldId field, Effect& effect, Entry& entry) const {
  const engine::OrderBlock& block = lane.block;
  const Value value = block.value(lane.lane, field);
  const std::string_view written = block.written(lane.lane, field);
  const Origin origin = block.origin(lane.lane, field);
  effect.field = field;
  effect.state = value.state;
  effect.number = value.number;
  effect.aux = value.aux;
  effect.from_text = block.from_text(lane.lane, field);
  effect.has_origin = origin != Origin{};
  effect.same_text = value.text.data() == written.data() && value.text.size() == written.size();
  return (!effect.has_origin || span_of(lane.message, origin, effect.origin)) &&
         describe(lane, field, written, effect.written, entry) &&
         (effect.same_text || describe(lane, field, value.text, effect.text, entry));
}

/// All that was set since recall(), but the dates that are read each time.
bool BodyMemo::collect(const Lane& lane, Entry& entry) const {
  for (const engine::FieldInfo& info : engine::fields()) {
    if (!lane.is_present(info.id) || before_.test(engine::index(info.id))) continue;
    if (info.id == FieldId::ScheduleStart || info.id == FieldId::ScheduleEnd) continue;
    if (engine::is_list(info.kind) || entry.effects.size() == kMostEffects) return false;
    if (!describe(lane, info.id, entry.effects.emplace_back(), entry)) return false;
  }
  return true;
}

void BodyMemo::keep(const Lane& lane) {
  if (!keeps_ || lane.block.doubts().size() != doubts_before_) return;
  keeps_ = false;
  if (entries_.empty()) entries_.resize(kEntries);
  const std::size_t pair = hash_ >> 33U & (kEntries - 2);
  Entry& entry =
      entries_[pair].used <= entries_[pair + 1].used ? entries_[pair] : entries_[pair + 1];
  entry.hash = 0;
  entry.kept.clear();
  entry.effects.clear();
  if (!collect(lane, entry)) return;
  entry.key = key_;
  entry.hash = hash_;
  entry.used = ++turn_;
}

}  // namespace meniscus::adapters::hl7v2
