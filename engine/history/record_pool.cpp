// Drafts are filled from the block, looked up by their hash, and copied when nobody says the same.
#include "engine/history/record_pool.hpp"

#include <bit>
#include <cmath>
#include <functional>

#include "engine/history/active.hpp"

namespace meniscus::engine {
namespace {

constexpr double kDay = 86400.0;

KeptFields::Text text_kept(FieldKind kind, bool written) {
  using Text = KeptFields::Text;
  if (written) return Text::Written;
  if (kind == FieldKind::Word || kind == FieldKind::Code) return Text::Word;
  return kind == FieldKind::Id || kind == FieldKind::Text ? Text::Known : Text::Nothing;
}

void mix(std::uint64_t& hash, std::uint64_t word) {
  hash = (hash ^ word) * 0xD6E8FEB86659FD93U;
  hash ^= hash >> 32U;
}

std::uint64_t bits(double number) { return std::bit_cast<std::uint64_t>(number); }

bool same_value(const KeptValue& a, const KeptValue& b) {
  return bits(a.number) == bits(b.number) && a.aux == b.aux;
}

/// Days from the event to the last planned dose.
std::int32_t days_active(const HistoryRecord& record) {
  const double last = std::floor(active_until(record) / kDay);
  return std::fabs(last) < 1e9 ? static_cast<std::int32_t>(last) - record.day()
                               : DatedContents::kEndless;
}

/// The pool owns all that records say; records hold views.
template <class T>
T* writable(const T* contents) {
  return const_cast<T*>(contents);  // NOLINT(cppcoreguidelines-pro-type-const-cast)
}

/// Somebody's already, or a copy of the draft: in `known`, by the hash of `draft`.
template <class T, class Same, class Copy>
T& found_or_made(FlatMap<T*>& known, const T& draft, std::uint64_t hash, Same same, Copy copy) {
  T*& standing = known.find_or_add(hash);
  if (standing == nullptr || !same(*standing, draft)) {
    T& fresh = copy(draft);
    fresh.users = 1;
    // Two with one hash: the second is found by nobody else.
    fresh.hash = standing == nullptr ? hash : 0;
    if (standing == nullptr) standing = &fresh;
    return fresh;
  }
  ++standing->users;
  return *standing;
}

}  // namespace

RecordPool::RecordPool(const FieldSet& keep, const FieldSet& keep_written) {
  kept_.slot.fill(KeptFields::kNowhere);
  for (const FieldInfo& field : fields()) {
    const std::size_t i = index(field.id);
    if (!keep.test(i) && !keep_written.test(i)) continue;
    kept_.slot[i] = static_cast<std::uint8_t>(kept_.fields.size());
    KeptFields::Kept kept{field.id, text_kept(field.kind, keep_written.test(i)),
                          KeptFields::kNowhere, KeptFields::kNowhere, is_list(field.kind)};
    if (kept.text != KeptFields::Text::Nothing && !kept.list)
      kept.text_slot = static_cast<std::uint8_t>(kept_.texts++);
    const bool date = field.kind == FieldKind::Date || field.kind == FieldKind::MonthEnd;
    if (date) kept.date_slot = static_cast<std::uint8_t>(kept_.dates++);
    (date ? date_slots_ : value_slots_).push_back(kept_.slot[i]);
    if (kept.text_slot != KeptFields::kNowhere) text_slots_.push_back(kept_.slot[i]);
    kept_.fields.push_back(kept);
  }
  draft_slots_.resize(kept_.fields.size());
  draft_texts_.resize(kept_.texts);
  draft_dates_.resize(kept_.dates);
  draft_.slots = draft_slots_;
  draft_.texts = draft_texts_;
  dated_draft_.kept = &kept_;
  dated_draft_.dates = draft_dates_.data();
}

void RecordPool::fill(HistoryRecord& record, const OrderBlock& block, unsigned lane) {
  draft_.known.reset();
  draft_.none.reset();
  draft_.substance = block.value(lane, FieldId::SubstanceCode).aux;
  dated_draft_.known_dates = dated_draft_.none_dates = 0;
  for (const std::uint8_t slot : value_slots_)
    take_value(slot, block, lane);
  for (const std::uint8_t slot : date_slots_)
    take_date(slot, block, lane, record.when);
  for (std::size_t at = 0; at < text_slots_.size(); ++at)
    draft_texts_[at] = text_of(text_slots_[at], block, lane);
  RecordContents& contents = shared(draft_);
  dated_draft_.contents = &contents;
  dated_draft_.substance = contents.substance;
  record.said = &dated_draft_;
  dated_draft_.active_days = days_active(record);
  DatedContents& dated = shared(dated_draft_);
  if (dated.users > 1) --contents.users;  // the others' contents too
  record.said = &dated;
}

/// What the record said is used again, when nobody else says it.
void RecordPool::give_back(const HistoryRecord& record) {
  DatedContents* const dated = writable(record.said);
  if (--dated->users > 0) return;
  if (dated->hash != 0) dated_.erase(dated->hash);
  free_dated_.push_back(dated);
  RecordContents* const contents = writable(dated->contents);
  if (--contents->users > 0) return;
  if (contents->hash != 0) contents_.erase(contents->hash);
  free_contents_.push_back(contents);
}

std::string_view RecordPool::word_text(Word word, std::string_view text) {
  std::string_view& kept = words_.find_or_add(word);
  if (kept.empty() && !text.empty()) {
    const std::span<char> room = texts_.take(text.size());
    std::copy(text.begin(), text.end(), room.begin());
    kept = {room.data(), room.size()};
  }
  return kept;
}

void RecordPool::take_date(std::size_t slot, const OrderBlock& block, unsigned lane, double when) {
  const KeptFields::Kept& kept = kept_.fields[slot];
  const OrderBlock::Column& column = block.column(kept.field);
  const auto bit = static_cast<std::uint16_t>(1U << kept.date_slot);
  KeptValue& date = draft_dates_[kept.date_slot];
  date = {};
  if ((column.none >> lane & 1U) != 0) dated_draft_.none_dates |= bit;
  if ((column.known >> lane & 1U) == 0) return;
  dated_draft_.known_dates |= bit;
  date = {column.number[lane] - when, column.aux[lane]};
}

void RecordPool::take_value(std::size_t slot, const OrderBlock& block, unsigned lane) {
  const KeptFields::Kept& kept = kept_.fields[slot];
  const OrderBlock::Column& column = block.column(kept.field);
  const Lanes bit = Lanes{1} << lane;
  if ((column.none & bit) != 0) draft_.none.set(slot);
  const bool known = (column.known & bit) != 0 && !kept.list;
  if (known) draft_.known.set(slot);
  draft_slots_[slot] = known ? KeptValue{column.number[lane], column.aux[lane]} : KeptValue{};
}

/// What is kept of a field's text; it is still the block's.
std::string_view RecordPool::text_of(std::size_t slot, const OrderBlock& block,
                                     unsigned lane) const {
  const KeptFields::Kept& kept = kept_.fields[slot];
  const OrderBlock::Column& column = block.column(kept.field);
  if ((column.known >> lane & 1U) == 0 || kept.list) return {};
  const bool as_written = kept.text == KeptFields::Text::Written;
  return as_written ? block.written(lane, kept.field) : column.text[lane];
}

/// Of everything but the texts of words, which the words stand for.
std::uint64_t RecordPool::hash_of(const RecordContents& contents) const {
  constexpr std::uint64_t kKnown = 0x9E3779B97F4A7C15U;
  std::uint64_t hash = contents.substance;
  for (const std::uint8_t slot : value_slots_) {
    const KeptValue& value = contents.slots[slot];  // zeros where it is not known
    const std::uint64_t state = contents.known[slot] ? kKnown : std::uint64_t{contents.none[slot]};
    mix(hash, bits(value.number) + value.aux + state);
  }
  for (std::size_t at = 0; at < text_slots_.size(); ++at) {
    const std::string_view text = contents.texts[at];
    if (!text.empty() && !is_word(contents, text_slots_[at]))
      mix(hash, std::hash<std::string_view>{}(text));
  }
  return hash | 1U;
}

std::uint64_t RecordPool::hash_of(const DatedContents& dated) const {
  auto hash = reinterpret_cast<std::uintptr_t>(dated.contents);  // NOLINT(*-reinterpret-cast)
  mix(hash, std::uint64_t{dated.known_dates} << 16U | dated.none_dates);
  mix(hash, static_cast<std::uint64_t>(dated.active_days));
  for (std::size_t date = 0; date < kept_.dates; ++date) {
    mix(hash, bits(dated.dates[date].number));
    mix(hash, dated.dates[date].aux);
  }
  return hash | 1U;
}

bool RecordPool::same(const RecordContents& a, const RecordContents& b) const {
  if (a.known != b.known || a.none != b.none || a.substance != b.substance) return false;
  if (!std::equal(a.slots.begin(), a.slots.end(), b.slots.begin(), same_value)) return false;
  for (std::size_t at = 0; at < text_slots_.size(); ++at)
    if (!is_word(a, text_slots_[at]) && a.texts[at] != b.texts[at]) return false;
  return true;
}

bool RecordPool::same(const DatedContents& a, const DatedContents& b) const {
  return a.contents == b.contents && a.known_dates == b.known_dates &&
         a.none_dates == b.none_dates && a.active_days == b.active_days &&
         std::equal(a.dates, a.dates + kept_.dates, b.dates, same_value);
}

RecordContents& RecordPool::shared(const RecordContents& draft) {
  return found_or_made(
      contents_, draft, hash_of(draft), [this](const auto& a, const auto& b) { return same(a, b); },
      [this](const auto& from) -> RecordContents& { return copy(from); });
}

DatedContents& RecordPool::shared(const DatedContents& draft) {
  return found_or_made(
      dated_, draft, hash_of(draft), [this](const auto& a, const auto& b) { return same(a, b); },
      [this](const auto& from) -> DatedContents& { return copy(from); });
}

RecordContents& RecordPool::copy(const RecordContents& draft) {
  RecordContents* fresh = nullptr;
  if (free_contents_.empty()) {
    fresh = contents_room_.take(1).data();
    fresh->slots = values_.take(kept_.fields.size());
    fresh->texts = views_.take(kept_.texts);
  } else {
    fresh = free_contents_.back();
    free_contents_.pop_back();
  }
  fresh->substance = draft.substance;
  fresh->known = draft.known;
  fresh->none = draft.none;
  std::copy(draft.slots.begin(), draft.slots.end(), fresh->slots.begin());
  std::copy(draft.texts.begin(), draft.texts.end(), fresh->texts.begin());
  own_texts(*fresh);
  return *fresh;
}

DatedContents& RecordPool::copy(const DatedContents& draft) {
  DatedContents* fresh = nullptr;
  KeptValue* dates = nullptr;
  if (free_dated_.empty()) {
    fresh = dated_room_.take(1).data();
    dates = values_.take(kept_.dates).data();
  } else {
    fresh = free_dated_.back();
    dates = fresh->dates;
    free_dated_.pop_back();
  }
  *fresh = draft;
  fresh->dates = dates;
  std::copy(draft.dates, draft.dates + kept_.dates, dates);
  return *fresh;
}

/// Copies the texts from the block's memory: those of words once for all, others into own room.
void RecordPool::own_texts(RecordContents& contents) {
  std::size_t letters = 0;
  for (std::size_t at = 0; at < text_slots_.size(); ++at) {
    std::string_view& text = contents.texts[at];
    if (is_word(contents, text_slots_[at])) {
      text = word_text(contents.slots[text_slots_[at]].aux, text);
    } else {
      letters += text.size();
    }
  }
  if (letters == 0) return;
  if (contents.text_room.size() < letters) contents.text_room = texts_.take(letters);
  char* to = contents.text_room.data();
  for (std::size_t at = 0; at < text_slots_.size(); ++at) {
    std::string_view& text = contents.texts[at];
    if (is_word(contents, text_slots_[at])) continue;
    char* const begin = to;
    to = std::copy(text.begin(), text.end(), to);
    text = {begin, static_cast<std::size_t>(to - begin)};
  }
}

}  // namespace meniscus::engine
