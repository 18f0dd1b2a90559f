// Candidates from tables, from the patient's history and from two fields exchanged.
#include <algorithm>

#include "engine/eval/primitives.hpp"
#include "engine/slips/ask.hpp"

namespace meniscus::engine::slips {
namespace {

namespace p = primitives;

constexpr std::size_t kRecords = 3;  // earlier ones that are looked at

double size_of_change(FieldId field, const Value& from, const Value& to) {
  const FieldKind kind = info(field).kind;
  const bool number = kind == FieldKind::Quantity || kind == FieldKind::Amount ||
                      kind == FieldKind::Strength || kind == FieldKind::AmountPerBodyMass ||
                      kind == FieldKind::Count;
  return number && from.aux == to.aux ? places(from.number, to.number) : 1;
}

bool row_holds(const Ask& ask, const Listing& listing, std::size_t row) {
  const Table& table = ask.program.tables[listing.table];
  return std::all_of(listing.rest.begin(), listing.rest.end(), [&](const RowCondition& condition) {
    const Value& cell = table.cell(row, condition.column);
    const Value other = ask.scalar.value(condition.node);
    if (condition.op == Op::Includes) return p::includes(cell, other) == Truth::True;
    if (condition.op == Op::SiteIn) return p::site_in(ask.program, other, cell) == Truth::True;
    return p::equal(condition.type, cell, other) == Truth::True;
  });
}

bool is_other_route(const Ask& ask, FieldId field, const Value& value) {
  const std::vector<Word>& others = ask.program.other_routes;
  return field == FieldId::Route && std::binary_search(others.begin(), others.end(), value.aux);
}

/// Fields that are the same from one order to the next.
bool may_be_as_before(const FieldInfo& field) {
  switch (field.kind) {
    case FieldKind::Word:
    case FieldKind::Quantity:
    case FieldKind::Amount:
    case FieldKind::Strength:
    case FieldKind::AmountPerBodyMass:
    case FieldKind::Gauge:
      return field.id != FieldId::OrderAction && field.id != FieldId::OrderStatus &&
             field.id != FieldId::SiteCondition && field.id != FieldId::PatientAge;
    case FieldKind::Id:
    case FieldKind::Code:
    case FieldKind::Text:
    case FieldKind::Count:
    case FieldKind::Date:
    case FieldKind::MonthEnd:
    case FieldKind::YesNo:
    case FieldKind::Words:
    case FieldKind::Components:
    case FieldKind::Steps:
    case FieldKind::Sites:
      return false;
  }
  return false;
}

/// The medicine that the longest run of leading words of `name` names.
const Vocabulary::Entry* named(const Vocabulary& medicines, std::string_view name) {
  for (std::size_t end = name.size(); end > 0;) {
    if (const Vocabulary::Entry* entry = medicines.find(name.substr(0, end))) return entry;
    const std::size_t blank = name.rfind(' ', end - 1);
    end = blank == std::string_view::npos ? 0 : blank;
  }
  return nullptr;
}

void add_other_forms(const Ask& ask, const Value& code) {
  const Table* table = ask.program.table("substances");
  const auto moiety = table == nullptr ? std::nullopt : table->column("moiety");
  if (!moiety) return;
  Value own = Value::missing();
  for (std::size_t row = 0; row < table->rows(); ++row) {
    if (table->cell(row, 0).aux == code.aux) own = table->cell(row, *moiety);
  }
  if (!own.known()) return;
  for (std::size_t row = 0; row < table->rows(); ++row) {
    if (table->cell(row, *moiety).aux != own.aux) continue;
    ask.add(Kind::OtherSalt, FieldId::SubstanceCode, table->cell(row, 0), 1);
  }
}

}  // namespace

void add_listed(const Ask& ask) {
  for (const Listing& listing : ask.sources.listings) {
    if (!ask.wants(listing.field)) continue;
    const Table& table = ask.program.tables[listing.table];
    const Value now = ask.value(listing.field);
    for (std::size_t row = 0; row < table.rows(); ++row) {
      const Value& cell = table.cell(row, listing.column);
      if (!cell.known() || !row_holds(ask, listing, row)) continue;
      if (is_other_route(ask, listing.field, cell)) continue;
      ask.add(Kind::OtherListed, listing.field, cell, size_of_change(listing.field, now, cell));
    }
  }
}

void add_fallbacks(const Ask& ask) {
  for (const Fallback& fallback : ask.sources.fallbacks) {
    if (!ask.wants(fallback.field)) continue;
    const Value to = ask.scalar.value(fallback.value);
    const Value now = ask.value(fallback.field);
    const bool listed = ask.program.nodes[fallback.value].op == Op::LookUp;
    if (!to.known() || (!listed && to.aux != now.aux && to.text.empty())) continue;
    ask.add(listed ? Kind::OtherListed : Kind::Computed, fallback.field, to,
            size_of_change(fallback.field, now, to));
  }
}

void add_sizes(const Ask& ask) {
  constexpr std::size_t kEachWay = 5;
  for (const FieldInfo& field : fields()) {
    const std::vector<Value>& sizes = ask.sources.sizes[index(field.id)];
    if (sizes.empty() || !ask.wants(field.id)) continue;
    const Value now = ask.value(field.id);
    const auto below = [&](const Value& size) { return compare(size.number, now.number) < 0; };
    const auto not_above = [&](const Value& size) { return compare(size.number, now.number) <= 0; };
    const auto first = std::partition_point(sizes.begin(), sizes.end(), below);
    const auto last = std::partition_point(sizes.begin(), sizes.end(), not_above);
    for (std::size_t step = 0; step < kEachWay; ++step) {
      const Kind kind = step == 0 ? Kind::NextSize : Kind::FurtherSize;
      const auto far = static_cast<std::ptrdiff_t>(step);
      const double size = 1.0 + static_cast<double>(step);
      if (first - sizes.begin() > far) ask.add(kind, field.id, *(first - 1 - far), size);
      if (sizes.end() - last > far) ask.add(kind, field.id, *(last + far), size);
    }
  }
}

void add_words(const Ask& ask) {
  for (const FieldInfo& field : fields()) {
    if (!ask.wants(field.id)) continue;
    for (const Value& word : ask.sources.words[index(field.id)])
      ask.add(Kind::OtherWord, field.id, word, 1);
  }
}

void add_exchanges(const Ask& ask) {
  for (const Exchange& exchange : ask.sources.exchanges) {
    Candidate candidate;
    candidate.kind = Kind::Exchanged;
    candidate.size = static_cast<double>(exchange.pairs.size());
    bool wanted = false;
    for (const auto& [a, b] : exchange.pairs) {
      const Value x = ask.value(a);
      const Value y = ask.value(b);
      if (!x.known() || !y.known() || same_value(x, y)) continue;
      if (candidate.count + 2U > Candidate::kMostChanges) break;
      candidate.changes[candidate.count++] = {a, y};
      candidate.changes[candidate.count++] = {b, x};
      wanted = wanted || ask.wants(a) || ask.wants(b);
    }
    if (wanted) ask.out.add(candidate);
  }
}

void add_medicines(const Ask& ask) {
  constexpr FieldId kCode = FieldId::SubstanceCode;
  if (!ask.wants(kCode)) return;
  const Value name = ask.value(FieldId::SubstanceName);
  const Vocabulary& medicines = ask.program.vocabularies[index(kCode)];
  if (name.known()) {
    if (const Vocabulary::Entry* entry = named(medicines, name.text)) {
      ask.add(Kind::NameSays, kCode, Value::word(entry->word, entry->name), 1);
    }
  }
  add_other_forms(ask, ask.value(kCode));
}

void add_earlier(const Ask& ask) {
  const OrderFacts& facts = ask.scalar.facts();
  if (facts.records == nullptr) return;
  const Value code = ask.value(FieldId::SubstanceCode);
  std::size_t seen = 0;
  for (auto at = facts.records->rbegin(); at != facts.records->rend() && seen < kRecords; ++at) {
    const HistoryRecord& record = *at;
    if (record.cancelled || (code.known() && record.substance() != code.aux)) continue;
    ++seen;
    for (const FieldInfo& field : fields()) {
      if (!may_be_as_before(field) || !ask.wants(field.id)) continue;
      const Value before = record.value(field.id);
      ask.add(Kind::AsBefore, field.id, before,
              size_of_change(field.id, ask.value(field.id), before));
    }
  }
}

}  // namespace meniscus::engine::slips
