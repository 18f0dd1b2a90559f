// Slips in numbers: the point, a zero, two digits, the unit, the interval, the scale.
#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "engine/quantity/quantity.hpp"
#include "engine/slips/ask.hpp"
#include "engine/slips/value_text.hpp"

namespace meniscus::engine::slips {
namespace {

constexpr double kDays = 7;  // of a week
constexpr int kDigits = 9;

bool is_whole(double number) { return compare(number, std::round(number)) == 0; }

Value scaled(const Value& value, double factor) {
  Value result = value;
  result.number *= factor;
  result.text = {};
  return result;
}

/// Times and ages have no decimal point that shifts.
bool has_point(const FieldInfo& field) {
  if (field.kind == FieldKind::Quantity) return field.dimension != dim::kTime;
  return field.kind == FieldKind::Amount || field.kind == FieldKind::Strength ||
         field.kind == FieldKind::AmountPerBodyMass || field.kind == FieldKind::Count;
}

/// A table has all values of the field, as the sizes of syringes: it is chosen, not reckoned.
bool is_listed(const Ask& ask, FieldId field) {
  return std::any_of(
      ask.sources.listings.begin(), ask.sources.listings.end(),
      [&](const Listing& listing) { return listing.field == field && listing.rest.empty(); });
}

Kind tenth_kind(const Value& value, const Measure& written) {
  const Dimension dimension = Dimension::from_bits(value.aux);
  const bool whole = is_whole(written.number);
  if (whole && dimension == dim::kBiological && is_whole(written.number / 10)) {
    return Kind::LetterAsZero;
  }
  if (whole) return Kind::ZeroAtEnd;
  return written.number < 1 ? Kind::ZeroLost : Kind::PointMoved;
}

/// The number with each two neighbouring digits exchanged.
void add_exchanged_digits(const Ask& ask, FieldId field, const Value& value,
                          const Measure& written) {
  std::string text = format_number(written.number, kDigits);
  for (std::size_t i = 0; i + 1 < text.size(); ++i) {
    const std::size_t next = text[i + 1] == '.' ? i + 2 : i + 1;
    if (text[i] == '.' || next >= text.size() || text[i] == text[next]) continue;
    std::swap(text[i], text[next]);
    double number = 0;
    const auto read = std::from_chars(text.data(), text.data() + text.size(), number);
    const bool leading_zero = text[0] == '0' && text.size() > 1 && text[1] != '.';
    if (read.ec == std::errc{} && !leading_zero) {
      Value to = value;
      to.number = number * written.factor;
      to.text = {};
      ask.add(Kind::DigitsExchanged, field, to, places(value.number, to.number));
    }
    std::swap(text[i], text[next]);
  }
}

}  // namespace

double places(double from, double to) {
  return from > 0 && to > 0 ? std::fabs(std::log10(to / from)) : 9;
}

void Ask::add(Kind kind, FieldId field, const Value& to, double size, std::string_view unit) const {
  const FieldKind of = info(field).kind;
  if (!to.known() || (to.aux == kNoWord && of == FieldKind::Word)) return;
  const bool number = of == FieldKind::Quantity || of == FieldKind::Amount ||
                      of == FieldKind::Strength || of == FieldKind::AmountPerBodyMass ||
                      of == FieldKind::Count || of == FieldKind::Gauge;
  if (number && (to.number <= 0 || !std::isfinite(to.number))) return;
  if (of == FieldKind::Count && !is_whole(to.number)) return;
  if (same_value(value(field), to)) return;
  out.add(kind, field, to, size, unit);
}

void add_points(const Ask& ask) {
  for (const FieldInfo& field : fields()) {
    if (!has_point(field) || !ask.wants(field.id) || is_listed(ask, field.id)) continue;
    const Value value = ask.value(field.id);
    const Measure written = measure(value, ask.written(field.id));
    ask.add(tenth_kind(value, written), field.id, scaled(value, 0.1), 1);
    ask.add(Kind::PointMoved, field.id, scaled(value, 10), 1);
    ask.add(Kind::PointMovedTwo, field.id, scaled(value, 0.01), 2);
    ask.add(Kind::PointMovedTwo, field.id, scaled(value, 100), 2);
    add_exchanged_digits(ask, field.id, value, written);
  }
}

void add_units(const Ask& ask) {
  for (const FieldInfo& field : fields()) {
    const std::vector<UnitChoice>& choices = ask.sources.units[index(field.id)];
    if (choices.empty() || !ask.wants(field.id)) continue;
    const Value value = ask.value(field.id);
    const Measure written = measure(value, ask.written(field.id));
    for (const UnitChoice& choice : choices) {
      const Value to = Value::quantity(written.number * choice.factor, choice.dimension);
      const bool unlike = to.aux != value.aux;
      ask.add(Kind::OtherUnit, field.id, to, unlike ? 1 : places(value.number, to.number),
              choice.text);
    }
  }
}

void add_intervals(const Ask& ask) {
  constexpr FieldId kEvery = FieldId::ScheduleEvery;
  constexpr FieldId kTimes = FieldId::ScheduleTimes;
  if (!ask.wants(kEvery)) return;
  const Value every = ask.value(kEvery);
  ask.add(Kind::DayForWeek, kEvery, scaled(every, kDays), 1, "weeks");
  ask.add(Kind::DayForWeek, kEvery, scaled(every, 1 / kDays), 1, "days");
  const Value times = ask.value(kTimes);
  Candidate both;
  both.kind = Kind::TwiceForTwo;
  both.count = 2;
  both.size = 1;
  if (times.known() && times.number > 1) {
    both.changes[0] = {kEvery, scaled(every, times.number)};
    both.changes[1] = {kTimes, Value::quantity(1, dim::kNumber)};
    ask.out.add(both);
    return;
  }
  const double number = measure(every, ask.written(kEvery)).number;
  if (number < 2 || !is_whole(number)) return;
  both.changes[0] = {kEvery, scaled(every, 1 / number)};
  both.changes[1] = {kTimes, Value::quantity(number, dim::kNumber)};
  ask.out.add(both);
}

void add_marks(const Ask& ask) {
  constexpr double kMillilitre = 1000;  // in base units
  for (const NodeId id : ask.sources.per_mark) {
    const Value per_mark = ask.scalar.value(id);
    if (!per_mark.known() || per_mark.number <= 0) continue;
    const Value volume = ask.value(FieldId::Volume);
    const Value marks = ask.value(FieldId::Marks);
    const double ratio = per_mark.number / kMillilitre;
    if (ask.wants(FieldId::Volume)) {
      ask.add(Kind::MarksForMillilitres, FieldId::Volume, scaled(volume, ratio), 1);
    }
    if (!ask.wants(FieldId::Marks)) continue;
    ask.add(Kind::MillilitresForMarks, FieldId::Marks, scaled(marks, 1 / ratio), 1);
    const LookUp& lookup = ask.program.lookups[ask.program.nodes[id].a];
    const Table& table = ask.program.tables[lookup.table];
    for (std::size_t row = 0; row < table.rows(); ++row) {
      const Value& other = table.cell(row, lookup.column);
      if (!other.known() || other.number <= 0) continue;
      ask.add(Kind::OtherScale, FieldId::Marks, scaled(marks, other.number / per_mark.number), 1);
      ask.add(Kind::OtherScale, FieldId::Marks, scaled(marks, per_mark.number / other.number), 1);
    }
  }
}

}  // namespace meniscus::engine::slips
