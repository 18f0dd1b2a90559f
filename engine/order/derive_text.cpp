// Age from the birth date and the medicine's code from its name (contract: complete_text.hpp).
#include <algorithm>
#include <array>
#include <string_view>

#include "engine/order/complete_text.hpp"
#include "engine/order/interval_text.hpp"
#include "engine/order/value_text.hpp"

namespace meniscus::engine {
namespace {

constexpr double kMonthSeconds = 2629800;  // UCUM mo
constexpr double kDaySeconds = 86400;

/// The day that an age is counted at; missing when the order has no date of its own.
Value day_of(const OrderBlock& block, unsigned lane) {
  for (const FieldId field : {FieldId::ScheduleStart, FieldId::OrderGiven, FieldId::OrderPlaced}) {
    const Value date = block.value(lane, field);
    if (date.known()) return date;
  }
  return block.message_date(lane);
}

/// Completed months and the days left over, as seconds.  A month without the birth's day is
/// completed on its last one.
double age_seconds(const Date& born, std::int64_t on) {
  const CivilDay from = civil_from_days(born.day());
  const CivilDay to = civil_from_days(on);
  int months =
      (to.year - from.year) * 12 + static_cast<int>(to.month) - static_cast<int>(from.month);
  unsigned length = last_day_of_month(to.year, to.month);
  std::int64_t before = on - to.day;  // the day before the month that completed last begins
  if (to.day < std::min(from.day, length)) {
    --months;
    length = to.month == 1 ? 31 : last_day_of_month(to.year, to.month - 1);
    before -= length;
  }
  const std::int64_t left = on - (before + std::min(from.day, length));
  return months * kMonthSeconds + static_cast<double>(left) * kDaySeconds;
}

/// What may follow a medicine's name without making it another medicine.
bool may_follow(const Token& token) {
  static constexpr std::array<std::string_view, 31> kForms = {
      "injection",   "injectable",   "inj",           "solution",      "soln",      "suspension",
      "susp",        "vial",         "vials",         "pen",           "prefilled", "syringe",
      "ampule",      "ampoule",      "powder",        "kit",           "im",        "sc",
      "subq",        "subcutaneous", "intramuscular", "for",           "in",        "sterile",
      "usp",         "bp",           "sodium",        "hydrochloride", "hcl",       "u",
      "autoinjector"};
  if (token.number) return true;
  return std::any_of(kForms.begin(), kForms.end(),
                     [&](std::string_view form) { return same_letters(token.text, form); });
}

/// Words that make a medicine a different one wherever they stand in its name.
bool names_another(const Token& token) {
  static constexpr std::array<std::string_view, 12> kOther = {
      "depot",    "decanoate", "er",        "la",  "xr",      "long",
      "extended", "sustained", "liposomal", "mix", "mixture", "concentrated"};
  return !token.number && std::any_of(kOther.begin(), kOther.end(), [&](std::string_view word) {
    return same_letters(token.text, word);
  });
}

constexpr std::size_t kMostNameWords = 7;

/// The longest run of leading words that the table knows; nothing when what follows may make it
/// another medicine ("insulin" of "insulin something-new").
struct NameMatch {
  const Vocabulary::Entry* entry = nullptr;
  std::string_view text;
};
NameMatch match_name(const Vocabulary& vocabulary, std::string_view name) {
  const Tokens tokens(name);
  if (!tokens.whole()) return {};
  NameMatch best;
  std::size_t used = 0;
  const std::size_t most = std::min(tokens.size, kMostNameWords);
  for (std::size_t n = 1; n <= most; ++n) {
    const Token& last = tokens[n - 1];
    const std::size_t end = last.offset + last.text.size();
    const bool closed = name.substr(end).starts_with(')');  // as in `(3 month)`
    const std::string_view lead = name.substr(0, closed ? end + 1 : end);
    const Vocabulary::Entry* entry = vocabulary.find(lead);
    if (entry == nullptr) continue;
    best = {entry, lead};
    used = n;
  }
  if (best.entry == nullptr) return {};
  if (used < tokens.size && !may_follow(tokens[used])) return {};
  for (std::size_t i = used; i < tokens.size; ++i)
    if (names_another(tokens[i])) return {};
  return best;
}

}  // namespace

void derive_age(OrderBlock& block, unsigned lane) {
  const Lanes bit = Lanes{1} << lane;
  const OrderBlock::Column& born_column = block.column(FieldId::PatientBorn);
  if ((born_column.known & bit) == 0 || (block.column(FieldId::PatientAge).present & bit) != 0)
    return;
  const Value born_value = block.value(lane, FieldId::PatientBorn);
  const Date born = unpack(born_value.number, born_value.aux);
  const Value day = day_of(block, lane);
  if (!day.known() || born.precision < Precision::Day) return;
  const std::int64_t on = unpack(day.number, day.aux).day();
  const Origin origin = block.origin(lane, FieldId::PatientBorn);
  const std::string_view written = block.written(lane, FieldId::PatientBorn);
  if (on < born.day()) {
    block.doubt(lane, FieldId::PatientBorn, "the birth date is after the order's own date", written,
                origin);
    return;
  }
  block.set(lane, FieldId::PatientAge, Value::quantity(age_seconds(born, on), dim::kTime), {},
            origin);
}

void derive_substance(const ReadContext& context, OrderBlock& block, unsigned lane) {
  const Lanes bit = Lanes{1} << lane;
  const OrderBlock::Column& names = block.column(FieldId::SubstanceName);
  if ((names.known & bit) == 0 || context.program == nullptr) return;
  const Vocabulary& vocabulary = context.program->vocabularies[index(FieldId::SubstanceCode)];
  if (vocabulary.empty()) return;
  const OrderBlock::Column& codes = block.column(FieldId::SubstanceCode);
  if ((codes.known & bit) != 0 && vocabulary.find(codes.text[lane]) != nullptr) return;
  const NameMatch match = match_name(vocabulary, names.text[lane]);
  if (match.entry == nullptr) return;
  block.set(lane, FieldId::SubstanceCode, Value::word(match.entry->word, match.entry->name),
            match.text, names.origin[lane], true);
}

void mark_outside(const ReadContext& context, OrderBlock& block, unsigned lane) {
  static const Word kSubcutaneous = word_hash("subcutaneous");
  static const Word kIntramuscular = word_hash("intramuscular");
  const OrderBlock::Column& routes = block.column(FieldId::Route);
  if ((routes.known >> lane & 1U) == 0 || block.from_text(lane, FieldId::Route)) return;
  const Word route = routes.aux[lane];
  if (route == kSubcutaneous || route == kIntramuscular || route == kNoWord) return;
  RecordInfo& record = block.record(lane);
  if (context.program == nullptr || record.kind != RecordKind::Order) return;
  const Table* table = context.program->table("routes");
  const auto injection = table == nullptr ? std::nullopt : table->column("injection");
  if (!injection) return;
  for (std::size_t row = 0; row < table->rows(); ++row) {
    const Value& yes = table->cell(row, *injection);
    if (table->cell(row, 0).aux != route || !yes.known() || yes.number != 0) continue;
    record.kind = RecordKind::Outside;
    record.reason = "the route `" + std::string(routes.text[lane]) + "` is no injection";
    record.reason_origin = routes.origin[lane];
    return;
  }
}

}  // namespace meniscus::engine
