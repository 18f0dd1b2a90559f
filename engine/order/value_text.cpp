// One value from its text (contract: value_text.hpp).
#include "engine/order/value_text.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "engine/base/ascii.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {
namespace {

using ascii::lower;

constexpr std::size_t kShown = 60;  // bytes of a text that a message repeats

bool is_blank(char c) { return c == ' ' || (c >= '\t' && c <= '\r'); }

/// `text` between backticks, cut to what a message can hold, never inside a character.
std::string quoted(std::string_view text) {
  if (text.size() <= kShown) return "`" + std::string(text) + "`";
  std::size_t end = kShown;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U)
    --end;
  return "`" + std::string(text.substr(0, end)) + " ...`";
}

Error error(Errc code, std::string message, std::string_view text) {
  return {code, std::move(message), 0, static_cast<std::uint32_t>(text.size())};
}

bool is_amount(Dimension d) {
  return d == dim::kMass || d == dim::kBiological || d == dim::kVolume ||
         d == dim::kAmountOfSubstance || d == dim::kEquivalent;
}

/// What a field of a run-time dimension takes; empty when `d` fits.
std::string_view wanted(FieldKind kind, Dimension d) {
  if (kind == FieldKind::Amount && !is_amount(d)) return "a mass, biological units or a volume";
  if (kind == FieldKind::Strength && !is_amount(d * dim::kVolume)) return "an amount per volume";
  if (kind == FieldKind::AmountPerBodyMass && !is_amount(d * dim::kBodyMass))
    return "an amount per kilogram";
  return {};
}

Result<Value> read_quantity(const ReadContext& context, FieldId field, std::string_view text) {
  std::string buffer;
  const std::string_view ours = with_our_unit(context, text, buffer);
  const QuantityStyle style = style_of(context, field);
  const Result<AnyQuantity> read = info(field).kind == FieldKind::Strength
                                       ? parse_strength(ours, style)
                                       : parse_quantity(ours, style);
  if (!read) return read.error();
  const Status fits = check_quantity(field, *read, text);
  if (!fits) return fits.error();
  return Value::quantity(read->value, read->dimension);
}

Result<Value> read_count(const ReadContext& context, std::string_view text) {
  const Result<double> read = parse_number(text, context.feed->decimal);
  if (!read) return read.error();
  if (*read < 0) return error(Errc::OutOfRange, quoted(text) + " is a negative count", text);
  if (*read != std::floor(*read))
    return error(Errc::NotANumber, quoted(text) + " is not a whole number; a count is", text);
  return Value::quantity(*read, dim::kNumber);
}

Result<Value> read_gauge(std::string_view text) {
  const Result<double> read = parse_gauge(text);
  if (!read) return read.error();
  Value gauge;
  gauge.number = *read;
  gauge.state = State::Known;
  return gauge;
}

Result<Value> read_date(const ReadContext& context, FieldId field, std::string_view text) {
  Result<Date> read = parse_date(text, context.feed->date_order, runs_to_month_end(field));
  if (!read) return read.error();
  const Status whole = check_day(field, *read, text);
  if (!whole) return whole.error();
  Date& date = *read;
  if (!date.has_offset && date.precision >= Precision::Minute && context.feed->offset_minutes) {
    date.has_offset = true;
    date.offset_minutes = *context.feed->offset_minutes;
  }
  return Value::date(date);
}

Result<Value> read_yes_no(std::string_view text) {
  for (const std::string_view yes : {"yes", "true", "y"})
    if (same_letters(text, yes)) return Value::yes_no(true);
  for (const std::string_view no : {"no", "false", "n"})
    if (same_letters(text, no)) return Value::yes_no(false);
  return error(Errc::UnknownWord, quoted(text) + " is neither `yes` nor `no`", text);
}

Value read_text(std::string_view text) {
  Value value;
  value.text = text;
  value.state = State::Known;
  return value;
}

/// What an order is to be done with decides whether it is judged at all, so these words are known
/// even to a program without a table of words, and any other is in doubt.
Result<Value> read_action(const ReadContext& context, std::string_view text) {
  const Value word = read_word(context, FieldId::OrderAction, text);
  if (word.aux != kNoWord) return word;
  for (const std::string_view known : {"new", "change", "stop", "cancel", "given"})
    if (same_letters(text, known)) return Value::word(word_hash(known), known);
  return error(Errc::UnknownWord,
               quoted(text) + " is no action; write new, change, stop, cancel or given", text);
}

/// What text says beside a coded word is a word of the same vocabulary.
FieldId words_of(FieldId field) {
  if (field == FieldId::StatedRoute) return FieldId::Route;
  if (field == FieldId::StatedSite) return FieldId::Site;
  return field == FieldId::StatedSide ? FieldId::Side : field;
}

}  // namespace

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && is_blank(text.front()))
    text.remove_prefix(1);
  while (!text.empty() && is_blank(text.back()))
    text.remove_suffix(1);
  return text;
}

namespace {

/// How many bytes of `text` are a blank of Unicode's: U+00A0, U+2000 to U+200A, U+202F.
std::size_t wide_blank(std::string_view text) {
  if (text.substr(0, 2) == "\xC2\xA0") return 2;
  if (text.size() < 3 || text.substr(0, 2) != "\xE2\x80") return 0;
  const auto last = static_cast<unsigned char>(text[2]);
  return last <= 0x8A || last == 0xAF ? 3 : 0;
}

}  // namespace

std::string_view with_plain_blanks(std::string_view text, std::string& buffer) {
  constexpr auto kNone = std::string_view::npos;
  if (text.find('\xC2') == kNone && text.find('\xE2') == kNone) return text;  // nearly always
  buffer.assign(text);
  bool found = false;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t wide = wide_blank(text.substr(at));
    std::fill_n(buffer.begin() + static_cast<std::ptrdiff_t>(at), wide, ' ');
    found = found || wide > 0;
    at += std::max<std::size_t>(wide, 1);
  }
  return found ? std::string_view(buffer) : text;
}

bool same_letters(std::string_view a, std::string_view b) {
  if (a.size() != b.size()) return false;
  for (std::size_t i = 0; i < a.size(); ++i)
    if (lower(a[i]) != lower(b[i])) return false;
  return true;
}

Word id_hash(std::string_view text) {
  // FNV-1a over the bytes as they stand, then mixed: ids that differ in one letter's case are two.
  std::uint64_t hash = 0xCBF29CE484222325;
  for (const char c : text)
    hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001B3;
  hash ^= hash >> 32;
  hash *= 0x9E3779B97F4A7C15;
  hash ^= hash >> 29;
  return hash == kNoWord ? 1 : hash;
}

Value read_word(const ReadContext& context, FieldId field, std::string_view text) {
  const FieldId known_as = words_of(field);
  if (!context.feed->words.empty()) {
    const auto words = context.feed->words.find(known_as);
    if (words != context.feed->words.end()) {
      const auto ours = words->second.find(text);
      if (ours != words->second.end()) text = ours->second;
    }
  }
  if (context.program != nullptr) {
    const Vocabulary& vocabulary = context.program->vocabularies[index(known_as)];
    if (const Vocabulary::Entry* entry = vocabulary.find(text))
      return Value::word(entry->word, entry->name);
  }
  const bool open = info(field).kind == FieldKind::Code;
  return Value::word(open ? word_hash(text) : kNoWord, text);
}

QuantityStyle style_of(const ReadContext& context, FieldId field) {
  QuantityStyle style;
  style.mark = context.feed->decimal;
  style.body_mass = field == FieldId::PatientWeight;
  return style;
}

std::string_view with_our_unit(const ReadContext& context, std::string_view text,
                               std::string& buffer) {
  if (context.feed->units.empty()) return text;
  const std::size_t number_end = text.find_last_of("0123456789");
  const std::size_t at = number_end == std::string_view::npos ? 0 : number_end + 1;
  const auto ours = context.feed->units.find(trimmed(text.substr(at)));
  if (ours == context.feed->units.end()) return text;
  buffer.assign(text.substr(0, at)).append(" ").append(ours->second);
  return buffer;
}

Status check_quantity(FieldId field, const AnyQuantity& quantity, std::string_view text) {
  const FieldInfo& about = info(field);
  const bool fixed = about.kind == FieldKind::Quantity;
  if (fixed && quantity.dimension != about.dimension)
    return error(Errc::DimensionMismatch,
                 quoted(text) + " is " + describe(quantity.dimension) + "; " +
                     std::string(about.name) + " is " + describe(about.dimension),
                 text);
  if (!fixed) {
    const std::string_view needed = wanted(about.kind, quantity.dimension);
    if (!needed.empty())
      return error(Errc::DimensionMismatch,
                   quoted(text) + " is " + describe(quantity.dimension) + "; " +
                       std::string(about.name) + " is " + std::string(needed),
                   text);
  }
  const bool zero_is_meant = field == FieldId::PatientAge;
  if (quantity.value > 0 || (quantity.value == 0 && zero_is_meant)) return Done{};
  const std::string_view what = quantity.value < 0 ? " is below zero; " : " is zero; ";
  return error(Errc::OutOfRange,
               quoted(text) + std::string(what) + std::string(about.name) + " is more than that",
               text);
}

bool runs_to_month_end(FieldId field) {
  return info(field).kind == FieldKind::MonthEnd || field == FieldId::ScheduleEnd;
}

Status check_day(FieldId field, const Date& date, std::string_view text) {
  constexpr std::array kDays = {FieldId::ScheduleLastGiven, FieldId::ScheduleStart,
                                FieldId::VialOpened, FieldId::OrderPlaced};
  if (date.precision >= Precision::Day) return Done{};
  if (std::find(kDays.begin(), kDays.end(), field) == kDays.end()) return Done{};
  return error(Errc::NotADate,
               quoted(text) + " names no day; " + std::string(info(field).name) +
                   " is a day, such as 2026-03-02",
               text);
}

Result<Value> read_value(const ReadContext& context, FieldId field, std::string_view text) {
  switch (info(field).kind) {
    case FieldKind::Id:
      return Value::word(id_hash(text), text);
    case FieldKind::Code:
      return read_word(context, field, text);
    case FieldKind::Word:
      if (field == FieldId::OrderAction) return read_action(context, text);
      return read_word(context, field, text);
    case FieldKind::Words:
      return read_word(context, field, text);
    case FieldKind::Text:
      return read_text(text);
    case FieldKind::Quantity:
    case FieldKind::Amount:
    case FieldKind::Strength:
    case FieldKind::AmountPerBodyMass:
      return read_quantity(context, field, text);
    case FieldKind::Count:
      return read_count(context, text);
    case FieldKind::Gauge:
      return read_gauge(text);
    case FieldKind::Date:
    case FieldKind::MonthEnd:
      return read_date(context, field, text);
    case FieldKind::YesNo:
      return read_yes_no(text);
    case FieldKind::Components:
    case FieldKind::Steps:
    case FieldKind::Sites:
      break;
  }
  return error(Errc::Internal, "a list is not one value", text);
}

FieldId field_of(ItemField part) {
  switch (part) {
    case ItemField::Substance:
      return FieldId::SubstanceCode;
    case ItemField::Dose:
      return FieldId::Dose;
    case ItemField::Strength:
      return FieldId::Strength;
    case ItemField::Volume:
      return FieldId::Volume;
    case ItemField::Every:
    case ItemField::Lasts:
      return FieldId::ScheduleEvery;
    case ItemField::Site:
      return FieldId::Site;
    case ItemField::Side:
      return FieldId::Side;
  }
  return FieldId::Dose;
}

}  // namespace meniscus::engine
