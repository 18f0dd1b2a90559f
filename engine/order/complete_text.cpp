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
#include "engine/order/per_time_text.hpp"
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

bool is_same(const Value& a, const Value& b) {
  return a.known() && b.known() && a.aux == b.aux && compare(a.number, b.number) == 0;
}

/// That of all injections of a dose together.
bool is_volume_of_all(const Source& text, const Value& said) {
  Value all = text.block.value(text.lane, FieldId::Volume);
  const Value injections = text.block.value(text.lane, FieldId::Injections);
  if (!all.known() || !injections.known() || !(injections.number > 1)) return false;
  all.number *= injections.number;
  return is_same(said, all);
}

/// The volume beside the coded one, of one injection as that is.
void apply_volume(const Source& text, const Found& found) {
  if (!found.clear() || !is_volume_of_all(text, found.value()))
    return text.set_or_state(FieldId::Volume, FieldId::StatedVolume, found);
  Value of_one = found.value();
  of_one.number /= text.block.value(text.lane, FieldId::Injections).number;
  if (!text.has(FieldId::StatedVolume)) text.set(FieldId::StatedVolume, of_one, found.written());
}

/// A volume that is that of all injections of a dose together, or that of the diluent.
bool is_another_volume(const Source& text, FieldId field, const Value& said) {
  return field == FieldId::Volume && (is_volume_of_all(text, said) ||
                                      is_same(said, text.block.value(text.lane, FieldId::Diluent)));
}

/// Two amounts, and it can be told why: one is coded, the other holds later or is another volume.
bool is_explained(const Source& text, FieldId field, const Found& found) {
  const Value coded = text.block.value(text.lane, field);
  if (is_same(found.value(), coded))
    return found.only_later() || is_another_volume(text, field, found.other_value());
  return is_same(found.other_value(), coded) && is_another_volume(text, field, found.value());
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
  } else if (!found.other().empty() && !text.has(FieldId::ScheduleSteps) &&
             !is_explained(text, field, found)) {
    place = found.other();
    reason = "the directions give `" + std::string(found.written()) + "` and `" +
             std::string(place) + "`";
  }
  const FieldId target = text.has(field) ? stated : field;
  if (!reason.empty() && !text.has(target))
    text.block.doubt(text.lane, target, std::move(reason), place, text.origin_of(place));
}

/// What the fields say about how often, for an amount per time.
struct Schedule {
  double seconds = 0;  // of one dose; 0: not known
  std::string obstacle;
};
Schedule schedule_of(const Source& text, bool calendar_rate) {
  const Value every = text.block.value(text.lane, FieldId::ScheduleEvery);
  const Value times = text.block.value(text.lane, FieldId::ScheduleTimes);
  if (text.has(FieldId::ScheduleSteps)) return {0, "the order has steps"};
  if (!every.known() || !(every.number > 0) || (times.known() && !(times.number > 0)))
    return {0, "the interval is not known"};
  if (calendar_rate != is_by_calendar(every.number))
    return {0, "a month is no fixed number of days"};
  return {every.number / (times.known() ? times.number : 1), {}};
}

/// Sets a `stated.*` field in doubt, or the coded one when that is missing.
void doubt_words(const Source& text, FieldId field, FieldId stated, std::string reason,
                 std::string_view place) {
  const bool beside = text.has(field) || text.has(FieldId::ScheduleSteps);
  const FieldId target = beside ? stated : field;
  if (text.has(target) && !text.block.value(text.lane, target).known()) return;  // said already
  text.block.doubt(text.lane, target, std::move(reason), place, text.origin_of(place));
}

std::string per_time(std::string_view written) {
  return "`" + std::string(written) + "` is an amount per time and was not compared: ";
}

/// What an amount per time comes to for one coded dose, beside it: `100 mg/week` beside every 14
/// days is 200 mg.  Where another text has been stated, the one that is further off is shown.
void apply_rate(const Source& text, FieldId field, FieldId stated, const Found& rate,
                bool calendar_rate) {
  if (!rate.clear()) {
    if (!rate.other().empty() && !text.has(FieldId::ScheduleSteps))
      doubt_words(text, field, stated,
                  "the directions give `" + std::string(rate.written()) + "` and `" +
                      std::string(rate.other()) + "`",
                  rate.other());
    return;
  }
  const Value coded = text.block.value(text.lane, field);
  Schedule schedule = schedule_of(text, calendar_rate);
  if (schedule.obstacle.empty() && !coded.known())
    schedule.obstacle = "the " + std::string(info(field).name) + " is not known";
  if (!schedule.obstacle.empty()) {
    doubt_words(text, field, stated, per_time(rate.written()) + schedule.obstacle, rate.written());
    return;
  }
  Value said = rate.value();
  said.number *= schedule.seconds;
  const Value injections = text.block.value(text.lane, FieldId::Injections);
  if (field == FieldId::Volume && injections.known() && injections.number > 0)
    said.number /= injections.number;
  const Value before = text.block.value(text.lane, stated);
  const bool comparable = before.known() && before.aux == coded.aux && said.aux == coded.aux;
  if (comparable && std::abs(before.number - coded.number) >= std::abs(said.number - coded.number))
    return;
  text.set(stated, said, rate.written());
}

/// `15 mg/m2` beside another coded dose, which is reckoned by the body's area; nothing here knows
/// that.  The same figure may be an area's dose that was taken for the patient's.
bool reckoned_by_area(const Source& text, std::string_view written) {
  constexpr std::string_view kArea = "/m2";
  const Value coded = text.block.value(text.lane, FieldId::Dose);
  if (!coded.known() || !written.ends_with(kArea)) return false;
  const auto each = parse_quantity(written.substr(0, written.size() - kArea.size()));
  return each && (each->dimension.bits() != coded.aux || compare(each->value, coded.number) != 0);
}

void apply_rates(const Source& text, const FreeText& said) {
  apply_rate(text, FieldId::Dose, FieldId::StatedDose, said.amount_rate, said.calendar_rate);
  const Value dose = text.block.value(text.lane, FieldId::Dose);
  const bool by_volume =
      dose.known() && dose.aux == dim::kVolume.bits() && !text.has(FieldId::Volume);
  apply_rate(text, by_volume ? FieldId::Dose : FieldId::Volume,
             by_volume ? FieldId::StatedDose : FieldId::StatedVolume, said.volume_rate,
             said.calendar_rate);
  if (!said.uncompared.empty() && !reckoned_by_area(text, said.uncompared))
    doubt_words(
        text, FieldId::Dose, FieldId::StatedDose,
        "`" + std::string(said.uncompared) + "` is no amount of one dose and was not compared",
        said.uncompared);
  if (!said.weight_rate.clear() || text.has(FieldId::DosePerWeight)) return;
  const Schedule schedule = schedule_of(text, said.calendar_rate);
  const std::string_view written = said.weight_rate.written();
  if (!schedule.obstacle.empty()) {
    text.block.doubt(text.lane, FieldId::DosePerWeight, per_time(written) + schedule.obstacle,
                     written, text.origin_of(written));
    return;
  }
  Value of_a_dose = said.weight_rate.value();
  of_a_dose.number *= schedule.seconds;
  text.set(FieldId::DosePerWeight, of_a_dose, written);
}

/// A text that is longer than what is read of one is not compared, and says so.
void doubt_unread(const Source& text, FieldId stated, const FreeText& said) {
  if (said.unread.empty()) return;
  text.block.doubt(text.lane, stated,
                   "`" + std::string(info(text.text_field).name) +
                       "` has more words than are read, and was not compared with the fields",
                   said.unread, text.origin_of(said.unread));
}

void apply_directions(const Source& directions, const FreeText& said) {
  directions.set_or_state(FieldId::Strength, FieldId::StatedStrength, said.strength);
  // Beside an amount per time, which of the two one dose is would be a guess.
  if (directions.has(FieldId::Dose) || said.amount_rate.empty())
    directions.set_or_state(FieldId::Dose, FieldId::StatedDose, said.amount);
  if (directions.has(FieldId::Volume) || said.volume_rate.empty())
    apply_volume(directions, said.volume);
  doubt_amount(directions, FieldId::Dose, FieldId::StatedDose, said.amount);
  doubt_amount(directions, FieldId::Volume, FieldId::StatedVolume, said.volume);
  directions.set_or_state(FieldId::Route, FieldId::StatedRoute, said.route);
  directions.set_or_state(FieldId::Site, FieldId::StatedSite, said.site);
  directions.set_or_state(FieldId::Side, FieldId::StatedSide, said.side);
  directions.set_missing(FieldId::DosePerWeight, said.per_weight);
  apply_interval(directions, said);
  apply_rates(directions, said);
  doubt_unread(directions, FieldId::StatedDose, said);
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

FreeText read(const ReadContext& context, std::string_view text, TextRole role, FreeTextMemo* memo,
              std::string_view own = {}) {
  return memo == nullptr ? read_free_text(context, text, role, own)
                         : memo->read(context, text, role, own);
}

/// The order's medicine as the tables call it, else its name.
std::string_view own_medicine(const ReadContext& context, const OrderBlock& block, unsigned lane) {
  const Value code = block.value(lane, FieldId::SubstanceCode);
  const bool known = code.known() && context.program != nullptr;
  if (known) {
    const Vocabulary& medicines = context.program->vocabularies[index(FieldId::SubstanceCode)];
    if (medicines.find(code.text) != nullptr) return code.text;
  }
  const Value name = block.value(lane, FieldId::SubstanceName);
  if (name.known()) return name.text;
  return code.known() ? code.text : std::string_view{};
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
    doubt_unread(name, FieldId::StatedStrength, said);
    label_route = said.route;
  }
  FreeText how_often;
  if (const std::string_view text = frequency.text(); !text.empty()) {
    how_often = read(context, text, TextRole::Directions, memo);
    apply_interval(frequency, how_often);
    doubt_unread(frequency, FieldId::StatedEvery, how_often);
  }
  if (const std::string_view text = directions.text(); !text.empty())
    apply_directions(directions, read(context, text, TextRole::Directions, memo,
                                      own_medicine(context, block, lane)));
  apply_rates(frequency, how_often);  // beside a dose that only the directions say, too
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
