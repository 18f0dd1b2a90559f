// Blocks from a stream of messages; batch headers and trailers are counted on the way.
#include "adapters/hl7v2/hl7_source.hpp"

#include <array>
#include <deque>
#include <utility>

#include "adapters/hl7v2/codes.hpp"
#include "adapters/hl7v2/location.hpp"
#include "adapters/hl7v2/message.hpp"
#include "adapters/hl7v2/order_reader.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::FieldId;
using engine::RecordKind;

// What no segment of the standard says, nor the medicine's name or the directions in it (what
// engine::complete() reads there is not in this list); a feed's profile may name a place for each.
constexpr std::array kNoPlace = {FieldId::SubstanceVehicle,
                                 FieldId::SubstancePreservative,
                                 FieldId::VialKind,
                                 FieldId::VialOpened,
                                 FieldId::VialGraduated,
                                 FieldId::Diluent,
                                 FieldId::SuppliedVehicle,
                                 FieldId::SuppliedVolume,
                                 FieldId::Marks,
                                 FieldId::Injections,
                                 FieldId::Quadrant,
                                 FieldId::SiteCondition,
                                 FieldId::MoreSites,
                                 FieldId::SyringeCapacity,
                                 FieldId::SyringeGraduation,
                                 FieldId::SyringeScale,
                                 FieldId::SyringeNeedle,
                                 FieldId::SyringeTip,
                                 FieldId::NeedleGauge,
                                 FieldId::NeedleLength,
                                 FieldId::NeedleWall,
                                 FieldId::NeedleHub,
                                 FieldId::DrawNeedleGauge,
                                 FieldId::DrawNeedleLength,
                                 FieldId::DrawNeedleFilter,
                                 FieldId::Technique,
                                 FieldId::SelfInjected,
                                 FieldId::ScheduleLastGiven,
                                 FieldId::ScheduleSteps,
                                 FieldId::SupplySyringes,
                                 FieldId::SupplyNeedles,
                                 FieldId::SupplyDrawNeedles,
                                 FieldId::SupplySwabs,
                                 FieldId::SupplySharpsBox,
                                 FieldId::SupplyDoses,
                                 FieldId::SupplySyringeRefills,
                                 FieldId::SupplyNeedleRefills};

std::string_view without_ends(std::string_view text) {
  while (!text.empty() && (text.back() == '\r' || text.back() == '\n'))
    text.remove_suffix(1);
  return text;
}

}  // namespace

struct Hl7Source::State {
  State(std::string input, std::uint32_t number, std::unique_ptr<UnitSource> mine,
        UnitSource& source, const engine::ReadContext& read_context)
      : name(std::move(input)),
        file(number),
        context(read_context),
        own_units(std::move(mine)),
        units(source),
        reader(context, file) {
    context.memo = &texts_read;
  }

  std::string name;
  std::uint32_t file;
  engine::ReadContext context;
  engine::ValueMemo texts_read;
  std::unique_ptr<UnitSource> own_units;  // null: they are somebody else's
  UnitSource& units;
  OrderReader reader;
  Unit unit;
  bool reading = false;  // the reader has more of `unit`
  std::uint32_t messages = 0;
  BatchCount batches;
  bool end_said = false;
  std::array<MessageFrame, engine::kLanes> frames;
  std::deque<Message> split;  // the messages of the block, as many as it has; reused
  std::size_t split_used = 0;

  Message& next_split() {
    if (split_used == split.size()) split.emplace_back();
    return split[split_used++];
  }
  /// Only a message that goes on in the next block is kept.
  void release_split() {
    if (reading) std::swap(split.front(), split[split_used - 1]);
    if (reading) reader.moved(split.front());
    split_used = reading ? 1 : 0;
  }

  unsigned add_record(engine::OrderBlock& block, RecordKind kind, std::string reason) {
    const unsigned lane = block.add_lane();
    engine::RecordInfo& record = block.record(lane);
    record.kind = kind;
    record.message = messages;
    record.file = file;
    record.offset = unit.offset;
    record.line = unit.line;
    record.text = without_ends(unit.text);
    record.reason = std::move(reason);
    frames[lane] = {unit.framed, true, false, nullptr};
    return lane;
  }

  void take(engine::OrderBlock& block) {
    if (const auto off = batches.take(unit))
      add_record(block, off->lost ? RecordKind::Unreadable : RecordKind::Outside, off->reason);
    if (unit.kind == UnitKind::Message) {
      reader.begin(unit, messages++, next_split());
      reading = true;
    } else if (unit.kind == UnitKind::Other) {
      add_record(block, RecordKind::Unreadable, "the text begins with no message header (MSH)");
    }
  }

  /// Once, what is said of an input behind its last unit.
  void take_end(engine::OrderBlock& block) {
    if (end_said || (units.failure().empty() && !units.is_over())) return;
    end_said = true;
    const auto off = batches.end();
    if (units.failure().empty() && !off) return;
    unit = Unit{};
    add_record(
        block, RecordKind::Unreadable,
        off && units.failure().empty() ? off->reason : "the input ended early: " + units.failure());
  }
};

Hl7Source::Hl7Source(engine::Input input, const engine::ReadContext& context) {
  auto stream = std::make_unique<MessageStream>(std::move(input.bytes));
  UnitSource& units = *stream;
  state_ =
      std::make_unique<State>(std::move(input.name), input.file, std::move(stream), units, context);
}
Hl7Source::Hl7Source(std::string name, std::uint32_t file, UnitSource& units,
                     const engine::ReadContext& context)
    : state_(std::make_unique<State>(std::move(name), file, nullptr, units, context)) {}
Hl7Source::~Hl7Source() = default;

void Hl7Source::restart() { restart_behind(0, {}); }

void Hl7Source::restart_behind(std::uint32_t messages, const BatchCount& batches) {
  State& s = *state_;
  s.units.restart();
  s.reading = false;
  s.messages = messages;
  s.batches = batches;
  s.end_said = false;
}

bool Hl7Source::next(engine::OrderBlock& block) {
  State& s = *state_;
  block.clear();
  s.units.release(s.reading);
  s.release_split();
  while (!block.full()) {
    if (s.reading) {
      const unsigned lane = block.size();
      s.reading = s.reader.read_next(block);
      if (s.reading) {
        s.frames[lane] = {s.unit.framed, s.reader.is_done(), true, &s.split[s.split_used - 1]};
        s.reading = !s.reader.is_done();
      }
      continue;
    }
    // Somebody may wait for the answers to what is here.
    if (block.size() > 0 && !s.units.has_unit()) break;
    if (s.units.next(s.unit)) {
      s.take(block);
    } else {
      s.take_end(block);
      break;
    }
  }
  return block.size() > 0;
}

engine::Place Hl7Source::place(const engine::OrderBlock& block, unsigned lane, FieldId field,
                               engine::Origin origin) const {
  const engine::RecordInfo& record = block.record(lane);
  engine::Place place;
  place.file = state_->name;
  const Message* const split = state_->frames[lane].split;
  if (origin.length == 0) {
    place.at = to_string(split != nullptr ? absent_path(*split, record.reason_origin, field)
                                          : absent_path(record.text, record.reason_origin, field));
    locate(record, record.reason_origin, place);
  } else {
    place.at = to_string(split != nullptr ? path_of(*split, origin) : path_of(record.text, origin));
    locate(record, origin, place);
  }
  return place;
}

engine::Place Hl7Source::record_place(const engine::OrderBlock& block, unsigned lane) const {
  const engine::RecordInfo& record = block.record(lane);
  engine::Place place;
  place.file = state_->name;
  const Message* const split = state_->frames[lane].split;
  place.at = to_string(split != nullptr ? path_of(*split, record.reason_origin)
                                        : path_of(record.text, record.reason_origin));
  locate(record, record.reason_origin, place);
  return place;
}

engine::FieldSet Hl7Source::never_carries() const {
  engine::FieldSet fields;
  for (const FieldId field : kNoPlace)
    fields.set(engine::index(field));
  for (const engine::Hl7Place& place : state_->context.feed->hl7)
    fields.reset(engine::index(place.field));
  return fields;
}

MessageFrame Hl7Source::frame(unsigned lane) const { return state_->frames[lane]; }

}  // namespace meniscus::adapters::hl7v2
