// Setting fields of one lane from raw HL7 text.
#include "adapters/hl7v2/lane.hpp"

#include <algorithm>
#include <array>

#include "adapters/hl7v2/amount_text.hpp"
#include "adapters/hl7v2/codes.hpp"
#include "engine/order/said_none.hpp"
#include "engine/order/value_text.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

using engine::FieldId;
using engine::Origin;
using engine::Value;

constexpr std::size_t kLongestDay = 8;  // YYYYMMDD

bool is_ucum(std::string_view system) {
  return system.starts_with("UCUM") || system == "http://unitsofmeasure.org";
}

bool has_letter(std::string_view text) {
  return std::ranges::any_of(
      text, [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '%'; });
}

bool begins_with_number(std::string_view text) {
  return !text.empty() && (text[0] == '.' || (text[0] >= '0' && text[0] <= '9'));
}

std::string quoted(std::string_view text) { return "`" + std::string(text) + "`"; }

}  // namespace

bool looks_numeric(std::string_view text) {
  if (!text.empty() && (text[0] == '+' || text[0] == '-')) text.remove_prefix(1);
  if (text.empty()) return false;
  const bool digits = std::ranges::any_of(text, [](char c) { return c >= '0' && c <= '9'; });
  return digits && text.find_first_not_of("0123456789.,") == std::string_view::npos;
}

Origin Lane::origin(std::string_view raw) const {
  const std::string_view all = message.text();
  if (raw.data() == nullptr || raw.data() < all.data() || raw.data() > all.data() + all.size())
    return {};
  return {static_cast<std::uint32_t>(raw.data() - all.data()),
          static_cast<std::uint32_t>(raw.size())};
}

bool Lane::knows(FieldId field, std::string_view word) const {
  if (word.empty()) return false;
  const auto translations = context.feed->words.find(field);
  if (translations != context.feed->words.end() &&
      translations->second.find(word) != translations->second.end())
    return true;
  return context.program != nullptr &&
         context.program->vocabularies[engine::index(field)].find(word) != nullptr;
}

namespace {
/// What is shown as the same sign may be two ids.
bool is_id_with_a_loss(FieldId field, std::string_view decoded) {
  return engine::info(field).kind == engine::FieldKind::Id &&
         decoded.find(engine::kReplacement) != std::string_view::npos;
}
}  // namespace

/// A text that was read as this field before; null when none was, or it has to be looked at.
const Value* Lane::remembered(FieldId field, std::string_view raw) const {
  if (context.memo == nullptr || raw.empty() || raw.size() > engine::ValueMemo::kLongest)
    return nullptr;
  // Nothing to trim, no null, and nothing to decode.
  if (raw.front() <= ' ' || raw.back() <= ' ' || raw.front() == '"' || coding.may_change)
    return nullptr;
  return context.memo->find(engine::ValueMemo::key(field, raw), raw);
}

void Lane::set(FieldId field, std::string_view raw, bool from_text) const {
  if (raw.empty()) return;
  if (const Value* known = remembered(field, raw)) {
    block.set(lane, field, *known, raw, origin(raw), from_text);
    return;
  }
  if (trim(raw).empty()) return;
  if (is_null(raw)) {
    block.set(lane, field, engine::said_none(field), raw, origin(raw));
    return;
  }
  const std::string_view decoded = trim(text(raw));
  if (coding.is_lost(decoded)) {
    doubt_text(field, raw);
    return;
  }
  if (coding.has_high_bytes && is_id_with_a_loss(field, decoded)) {
    doubt(field, "it has a byte that is no UTF-8, and MSH-18 names no character set", raw);
    return;
  }
  engine::set_field(context, block, lane, field, decoded, origin(raw), from_text);
}

void Lane::set_as(FieldId field, std::string_view ours, std::string_view raw,
                  bool from_text) const {
  if (const Value* known = remembered(field, ours);
      known != nullptr && known->known() && known->text.data() != ours.data()) {
    block.set(lane, field, *known, text(raw), origin(raw), from_text);
    return;
  }
  engine::set_field(context, block, lane, field, block.keep(ours), origin(raw), from_text);
  const Value value = block.value(lane, field);
  if (value.known()) block.set(lane, field, value, text(raw), origin(raw), from_text);
}

void Lane::doubt(FieldId field, std::string reason, std::string_view raw) const {
  block.doubt(lane, field, std::move(reason), text(raw), origin(raw));
}

void Lane::doubt_text(FieldId field, std::string_view raw) const {
  doubt(field,
        "the text cannot be read in the character set " + quoted(coding.characters.name) +
            " (MSH-18)",
        raw);
}

void Lane::set_date(FieldId field, std::string_view raw) const {
  if (raw.empty() || trim(raw).empty()) return;
  if (is_null(raw)) {
    block.set(lane, field, engine::said_none(field), raw, origin(raw));
    return;
  }
  // Days only: a time takes its offset from the message.
  const bool is_day = dates != nullptr && raw.size() <= kLongestDay && raw.front() > ' ';
  const engine::ValueMemo::Key key =
      is_day ? engine::ValueMemo::key(field, raw) : engine::ValueMemo::Key{};
  if (const Value* known = is_day ? dates->find(key, raw) : nullptr) {
    block.set(lane, field, *known, raw, origin(raw));
    return;
  }
  engine::Result<engine::Date> date =
      engine::parse_hl7_date(trim(raw), engine::runs_to_month_end(field));
  if (!date) {
    doubt(field, date.error().message, raw);
    return;
  }
  const engine::Status whole = engine::check_day(field, *date, trim(raw));
  if (!whole) {
    doubt(field, whole.error().message, raw);
    return;
  }
  const bool has_time = date->precision >= engine::Precision::Minute;
  if (has_time && !date->has_offset && message_date && message_date->has_offset) {
    date->has_offset = true;
    date->offset_minutes = message_date->offset_minutes;
  }
  if (has_time && !date->has_offset && context.feed->offset_minutes) {
    date->has_offset = true;
    date->offset_minutes = *context.feed->offset_minutes;
  }
  const Value value = Value::date(*date);
  if (is_day) dates->keep(key, value, raw);
  block.set(lane, field, value, raw, origin(raw));
}

std::string_view Lane::name_of(std::string_view coded) const {
  for (const unsigned component : {2U, 9U, 5U, 1U}) {
    const std::string_view part = message.component(coded, component);
    if (!trim(part).empty() && !is_null(part)) return part;
  }
  return {};
}

namespace {
/// What one component of a coded unit says; nothing when it is no unit of ours.
std::optional<Lane::UnitText> unit_in(const engine::ReadContext& context, std::string_view part) {
  if (context.feed->units.find(part) != context.feed->units.end()) return Lane::UnitText{part, {}};
  if (!has_letter(part)) return std::nullopt;
  if (begins_with_number(part))
    return Lane::UnitText{{}, "the unit " + quoted(part) + " holds a number of its own"};
  if (const std::string_view alias = unit_alias(part); !alias.empty())
    return Lane::UnitText{alias, {}};
  if (engine::parse_unit(part, engine::UnitSet::Order)) return Lane::UnitText{part, {}};
  return std::nullopt;
}

/// Two spellings of units that are known and not of one size: `mg` beside `microgram`.
bool are_two_units(std::string_view one, std::string_view other) {
  const auto a = engine::parse_unit(one, engine::UnitSet::Order);
  const auto b = engine::parse_unit(other, engine::UnitSet::Order);
  if (!a || !b) return false;
  return a->dimension != b->dimension || engine::compare(a->factor, b->factor) != 0;
}
}  // namespace

/// A code and a text that are two units are in doubt: a thousand may lie between them.
Lane::UnitText Lane::unit_of(std::string_view coded) const {
  UnitText unit = first_unit_of(coded);
  if (unit.unit.empty()) return unit;
  const std::string_view repetition = message.repetition(coded, 0);
  for (const unsigned component : {1U, 2U, 4U, 5U}) {
    const std::string_view part = trim(text(message.component(repetition, component)));
    if (part.empty() || part == unit.unit || is_null(part)) continue;
    const auto other = unit_in(context, part);
    if (other && are_two_units(unit.unit, other->unit))
      return {{}, quoted(unit.unit) + " and " + quoted(part) + " are two units"};
  }
  return unit;
}

Lane::UnitText Lane::first_unit_of(std::string_view coded) const {
  const std::string_view repetition = message.repetition(coded, 0);
  const std::string_view code = trim(text(message.component(repetition, 1)));
  if (is_ucum(message.component(repetition, 3)) && !code.empty()) {
    if (engine::parse_unit(code, engine::UnitSet::Ucum)) return {code, {}};
    return {{}, quoted(code) + " is no UCUM unit, though the message says so"};
  }
  std::string_view shown;
  for (const unsigned component : {1U, 2U, 4U, 5U}) {
    const std::string_view part = trim(text(message.component(repetition, component)));
    if (part.empty() || is_null(part)) continue;
    if (shown.empty()) shown = part;
    if (auto unit = unit_in(context, part)) return *std::move(unit);
  }
  if (shown.empty()) return {{}, {}};
  return {{}, quoted(shown) + " is no unit of an amount"};
}

void Lane::set_amount(FieldId field, std::string_view number, std::string_view unit_field,
                      bool from_text) const {
  const std::string_view digits = trim(number);
  if (digits.empty()) return;
  if (is_null(digits)) {
    block.set(lane, field, engine::said_none(field), digits, origin(digits));
    return;
  }
  const char truncation = coding.delimiters.truncation;
  if (truncation != 0 && digits.back() == truncation) {
    doubt(field, "the sender cut " + quoted(digits) + " short", digits);
    return;
  }
  if (!looks_numeric(digits)) {
    // A number that carries its own unit is text; anything else is no number at all.
    if (trim(unit_field).empty() && begins_with_number(digits) && has_letter(digits)) {
      set(field, digits, true);
    } else {
      doubt(field, quoted(text(digits)) + " is not one number", digits);
    }
    return;
  }
  const UnitText unit = unit_of(unit_field);
  if (!unit.reason.empty()) {
    doubt(field, unit.reason, digits);
    return;
  }
  engine::set_quantity(context, block, lane, field, digits, unit.unit, origin(digits));
  const Value value = block.value(lane, field);
  if (value.known()) {
    const bool dose = field == FieldId::Dose || field == FieldId::DoseHigh;
    const std::string shown = dose ? amount_text(digits, unit.unit)
                                   : std::string(digits) + " " + std::string(unit_word(unit.unit));
    if (!unit.unit.empty() && shown != block.written(lane, field))
      block.set(lane, field, value, block.keep(shown), origin(digits), from_text);
  }
  if (value.known() && from_text)
    block.set(lane, field, value, block.written(lane, field), origin(digits), true);
}

}  // namespace meniscus::adapters::hl7v2
