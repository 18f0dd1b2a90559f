// Setting one field from its text (contract: field_text.hpp).
#include "engine/order/field_text.hpp"

#include <string>

#include "engine/order/interval_text.hpp"
#include "engine/order/said_none.hpp"
#include "engine/order/value_text.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {
namespace {

/// One value being set: what every step below needs.
struct Target {
  const ReadContext& context;
  OrderBlock& block;
  unsigned lane;
  FieldId field;
  Origin origin;
  bool from_text;

  void set(const Value& value, std::string_view written) const {
    block.set(lane, field, value, written, origin, from_text);
  }
  void set(FieldId other, const Value& value, std::string_view written) const {
    block.set(lane, other, value, written, origin, from_text);
  }
  void doubt(std::string reason, std::string_view written) const {
    block.doubt(lane, field, std::move(reason), written, origin);
  }
  [[nodiscard]] bool is_set(FieldId other) const {
    return (block.column(other).present >> lane & 1U) != 0;
  }
};

/// "50-100 mg" as a dose is its low and high end.
bool set_dose_range(const Target& t, std::string_view text) {
  std::string buffer;
  const std::string_view ours = with_our_unit(t.context, text, buffer);
  const auto range = parse_range(ours, style_of(t.context, FieldId::Dose));
  if (!range || range->low.dimension != range->high.dimension) return false;
  if (!check_quantity(FieldId::Dose, range->low, text)) return false;
  t.set(Value::quantity(range->low.value, range->low.dimension), text);
  if (compare(range->low.value, range->high.value) != 0 && !t.is_set(FieldId::DoseHigh))
    t.set(FieldId::DoseHigh, Value::quantity(range->high.value, range->high.dimension), text);
  return true;
}

/// Says that a range is one, rather than that its unit is odd.
bool doubt_range(const Target& t, std::string_view text) {
  std::string buffer;
  const std::string_view ours = with_our_unit(t.context, text, buffer);
  const auto range = parse_range(ours, style_of(t.context, t.field));
  if (range && range->low == range->high) return false;
  if (range) {
    t.doubt("`" + std::string(text) + "` is a range where one value is needed", text);
    return true;
  }
  const Errc code = range.error().code;
  const bool two_ends = code == Errc::Ambiguous || code == Errc::DimensionMismatch;
  if (two_ends) t.doubt(range.error().message, text);
  return two_ends;
}

/// A dose of "1 mg/kg" is a dose for each kilogram, whatever field it came in.
bool set_dose_per_weight(const Target& t, std::string_view text) {
  const auto value = read_value(t.context, FieldId::DosePerWeight, text);
  if (!value || t.is_set(FieldId::DosePerWeight)) return false;
  t.set(FieldId::DosePerWeight, *value, text);
  return true;
}

bool set_interval_words(const Target& t, std::string_view text) {
  const auto interval = parse_interval_words(text);
  if (!interval) return false;
  if (interval->ambiguous) {
    t.doubt("`" + std::string(text) +
                "` can be read in two ways; write `every 2 weeks` or `2 times a week`",
            text);
    return true;
  }
  t.set(Value::quantity(interval->seconds, dim::kTime), text);
  if (interval->times > 1 && !t.is_set(FieldId::ScheduleTimes))
    t.set(FieldId::ScheduleTimes, Value::quantity(interval->times, dim::kNumber), text);
  return true;
}

/// What may stand in one field besides one value of its kind.
bool set_otherwise(const Target& t, std::string_view text) {
  if (t.field == FieldId::Dose && (set_dose_range(t, text) || set_dose_per_weight(t, text)))
    return true;
  if (t.field == FieldId::ScheduleEvery && set_interval_words(t, text)) return true;
  const FieldKind kind = info(t.field).kind;
  const bool ranges = kind == FieldKind::Quantity || kind == FieldKind::Amount;
  return ranges && text.find_first_of("0123456789") != std::string_view::npos &&
         doubt_range(t, text);
}

/// Kinds whose texts come again, and cost more to read than to remember.
bool remembers(FieldKind kind) {
  return kind != FieldKind::Id && kind != FieldKind::Text && !is_list(kind);
}

/// `none` says that there is none, but in an id or free text it is what it says.
bool says_none(const Target& t, std::string_view text) {
  if (text.size() != 4 || !same_letters(text, "none")) return false;
  const FieldKind kind = info(t.field).kind;
  if (kind == FieldKind::Id || kind == FieldKind::Text) return false;
  if (t.field == FieldId::OrderAction) return false;
  const bool words = kind == FieldKind::Word || kind == FieldKind::Code;
  return !words || t.context.program == nullptr ||
         t.context.program->vocabularies[index(t.field)].find(text) == nullptr;
}

/// A value's text with plain blanks.  An id is what it is to the byte, and so is free text.
std::string_view plain(OrderBlock& block, FieldId field, std::string_view text) {
  const FieldKind kind = info(field).kind;
  if (kind == FieldKind::Id || kind == FieldKind::Text) return text;
  std::string buffer;
  const std::string_view read = with_plain_blanks(text, buffer);
  return read.data() == text.data() ? text : block.keep(read);
}

}  // namespace

void set_field(const ReadContext& context, OrderBlock& block, unsigned lane, FieldId field,
               std::string_view text, Origin origin, bool from_text) {
  const std::string_view value_text = trimmed(plain(block, field, text));
  if (value_text.empty()) return;
  const Target target{context, block, lane, field, origin, from_text};
  const bool short_text = context.memo != nullptr && remembers(info(field).kind) &&
                          value_text.size() <= ValueMemo::kLongest;
  const ValueMemo::Key key = short_text ? ValueMemo::key(field, value_text) : ValueMemo::Key{};
  if (short_text) {
    if (const Value* known = context.memo->find(key, value_text)) {
      target.set(*known, value_text);
      return;
    }
  }
  if (says_none(target, value_text)) {
    target.set(said_none(field), value_text);
    return;
  }
  if (is_list(info(field).kind)) {
    set_list(context, block, lane, field, value_text, origin);
    return;
  }
  const Result<Value> value = read_value(context, field, value_text);
  if (value) {
    target.set(*value, value_text);
    if (short_text) context.memo->keep(key, *value, value_text);
    return;
  }
  if (!set_otherwise(target, value_text)) target.doubt(value.error().message, value_text);
}

void set_quantity(const ReadContext& context, OrderBlock& block, unsigned lane, FieldId field,
                  std::string_view number, std::string_view unit, Origin origin) {
  number = trimmed(number);
  unit = trimmed(unit);
  if (unit.empty() || number.empty()) {
    set_field(context, block, lane, field, number.empty() ? unit : number, origin);
    return;
  }
  // `%` and `/mL` read the same with a blank before them.
  std::string joined;
  joined.reserve(number.size() + unit.size() + 1);
  joined.append(number).append(" ").append(unit);
  set_field(context, block, lane, field, block.keep(joined), origin);
}

}  // namespace meniscus::engine
