// What only text says, read into the fields that it belongs to (contract: field_text.hpp).
//
// Coded beside text: where the coded field is there, what the directions say goes to `stated.*`,
//          for rules to compare.  A field that is there but in doubt stays unknown.
// Name:    says what the product is.  Its route fills a missing one and is never compared, because
//          a label's route is not what was ordered.
#include "engine/order/complete_text.hpp"

#include <algorithm>
#include <cmath>

#include "engine/order/free_text.hpp"
#include "engine/order/free_text_memo.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {
namespace {

/// A field of free text and what it says.
struct Source {
  OrderBlock& block;
  unsigned lane;
  FieldId text_field;

  [[nodiscard]] std::string_view text() const {
    const OrderBlock::Column& c = block.column(text_field);
    return (c.known >> lane & 1U) != 0 ? c.text[lane] : std::string_view{};
  }
  [[nodiscard]] bool has(FieldId field) const {
    return (block.column(field).present >> lane & 1U) != 0;
  }
  /// Of a part of the text; of the whole where the text does not stand so in the input.
  [[nodiscard]] Origin origin_of(std::string_view part) const {
    const Origin whole = block.origin(lane, text_field);
    const std::string_view all = text();
    if (whole.length != all.size()) return whole;
    return {whole.offset + static_cast<std::uint32_t>(part.data() - all.data()),
            static_cast<std::uint32_t>(part.size())};
  }
  void set(FieldId field, const Value& value, std::string_view written) const {
    block.set(lane, field, value, written, origin_of(written), true);
  }
  void set_missing(FieldId field, const Found& found) const {
    if (found.clear() && !has(field)) set(field, found.value(), found.written());
  }
  /// Into the coded field when it is missing, else beside it.
  void set_or_state(FieldId field, FieldId stated, const Found& found) const {
    if (!found.clear()) return;
    if (!has(field))
      set(field, found.value(), found.written());
    else if (!has(stated))
      set(stated, found.value(), found.written());
  }
};

/// `80mg/0.8mL` is a container when the name is that of a prefilled device, or when the volume is
/// one that nobody states a concentration in.
bool is_pack(const FreeText& said) {
  if (!said.pack_volume.clear() || !said.pack_amount.clear()) return false;
  const double millilitres = said.pack_volume.value().number / 1000;
  return said.prefilled || compare(millilitres, std::round(millilitres)) != 0;
}

void apply_name(const Source& name, const FreeText& said) {
  name.set_or_state(FieldId::Strength, FieldId::StatedStrength, said.strength);
  if (is_pack(said)) {
    name.set_missing(FieldId::VialContent, said.pack_amount);
    name.set_missing(FieldId::VialVolume, said.pack_volume);
    return;
  }
  name.set_missing(FieldId::VialContent, said.amount);
  name.set_missing(FieldId::VialVolume, said.volume);
}

/// The interval beside a coded one is scaled to the coded doses in it, so that the two compare:
/// "twice a week" beside every 1 wk, times 2 is 1 wk; beside every 1 wk, times 1 it is 3.5 d.
void apply_interval(const Source& text, const FreeText& said) {
  const bool coded = text.has(FieldId::ScheduleEvery);
  if (said.ambiguous_interval && !coded) {
    text.block.doubt(text.lane, FieldId::ScheduleEvery,
                     "`" + std::string(said.ambiguous_text) + "` can be read in two ways",
                     said.ambiguous_text, text.origin_of(said.ambiguous_text));
    return;
  }
  if (!said.interval.clear()) return;
  if (!coded) {
    text.set(FieldId::ScheduleEvery, said.interval.value(), said.interval.written());
    if (said.times > 1 && !text.has(FieldId::ScheduleTimes))
      text.set(FieldId::ScheduleTimes, Value::quantity(said.times, dim::kNumber),
               said.interval.written());
    return;
  }
  const Value times = text.block.value(text.lane, FieldId::ScheduleTimes);
  const Value every = text.block.value(text.lane, FieldId::ScheduleEvery);
  const double in_coded = times.known() ? times.number : 1;
  const double seconds = said.interval.value().number / said.times * in_coded;
  const Value before = text.block.value(text.lane, FieldId::StatedEvery);
  const bool agrees = every.known() && compare(every.number, seconds) == 0;
  if (before.known() && agrees) return;  // the text that disagrees is the one to show
  text.set(FieldId::StatedEvery, Value::quantity(seconds, dim::kTime), said.interval.written());
}

/// An amount in the directions that cannot be compared is said to be so: as the coded field when
/// that is missing, else as what the text states.
void doubt_amount(const Source& text, FieldId field, FieldId stated, const Found& found) {
  std::string reason;
  std::string_view place = found.doubtful();
  if (!place.empty()) {
    const Value coded = text.block.value(text.lane, field);
    const Value& grouped = found.grouped();
    if (coded.known() && grouped.known() && coded.aux == grouped.aux &&
        compare(coded.number, grouped.number) == 0)
      return;  // `5,000 units` beside 5000 units
    reason = "`" + std::string(place) + "` in the directions can be read in two ways";
  } else if (!found.other().empty() && !text.has(FieldId::ScheduleSteps)) {
    place = found.other();
    reason = "the directions give `" + std::string(found.written()) + "` and `" +
             std::string(place) + "`";
  }
  const FieldId target = text.has(field) ? stated : field;
  if (!reason.empty() && !text.has(target))
    text.block.doubt(text.lane, target, std::move(reason), place, text.origin_of(place));
}

void apply_directions(const Source& directions, const FreeText& said) {
  directions.set_or_state(FieldId::Strength, FieldId::StatedStrength, said.strength);
  directions.set_or_state(FieldId::Dose, FieldId::StatedDose, said.amount);
  directions.set_or_state(FieldId::Volume, FieldId::StatedVolume, said.volume);
  doubt_amount(directions, FieldId::Dose, FieldId::StatedDose, said.amount);
  doubt_amount(directions, FieldId::Volume, FieldId::StatedVolume, said.volume);
  directions.set_or_state(FieldId::Route, FieldId::StatedRoute, said.route);
  directions.set_or_state(FieldId::Site, FieldId::StatedSite, said.site);
  directions.set_or_state(FieldId::Side, FieldId::StatedSide, said.side);
  directions.set_missing(FieldId::DosePerWeight, said.per_weight);
  apply_interval(directions, said);
}

/// An order whose route is none for an injection (`routes`, column `injection`) is outside.
void set_outside(const ReadContext& context, OrderBlock& block, unsigned lane) {
  const Value route = block.value(lane, FieldId::Route);
  RecordInfo& record = block.record(lane);
  if (!route.known() || context.program == nullptr || record.kind != RecordKind::Order) return;
  const std::vector<Word>& others = context.program->other_routes;
  if (!std::binary_search(others.begin(), others.end(), route.aux)) return;
  record.kind = RecordKind::Outside;
  record.reason = "the route `" + std::string(route.text) + "` is no injection";
  record.reason_origin = block.origin(lane, FieldId::Route);
}

FreeText read(const ReadContext& context, std::string_view text, TextRole role,
              FreeTextMemo* memo) {
  return memo == nullptr ? read_free_text(context, text, role) : memo->read(context, text, role);
}

void complete_with(const ReadContext& context, OrderBlock& block, unsigned lane,
                   FreeTextMemo* memo) {
  derive_age(block, lane);
  derive_substance(context, block, lane);
  mark_outside(context, block, lane);
  const Source name{block, lane, FieldId::SubstanceName};
  const Source directions{block, lane, FieldId::OrderDirections};
  const Source frequency{block, lane, FieldId::ScheduleText};
  Found label_route;
  if (const std::string_view text = name.text(); !text.empty()) {
    const FreeText said = read(context, text, TextRole::Name, memo);
    apply_name(name, said);
    label_route = said.route;
  }
  if (const std::string_view text = frequency.text(); !text.empty())
    apply_interval(frequency, read(context, text, TextRole::Directions, memo));
  if (const std::string_view text = directions.text(); !text.empty())
    apply_directions(directions, read(context, text, TextRole::Directions, memo));
  name.set_missing(FieldId::Route, label_route);
  set_outside(context, block, lane);
}

}  // namespace

void complete(const ReadContext& context, OrderBlock& block, unsigned lane) {
  complete_with(context, block, lane, nullptr);
}

void complete(const ReadContext& context, OrderBlock& block, unsigned lane, FreeTextMemo& memo) {
  complete_with(context, block, lane, &memo);
}

}  // namespace meniscus::engine
