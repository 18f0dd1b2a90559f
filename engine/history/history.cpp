// Records per patient in vectors sorted by event time: nearly every record is appended at the end,
// so insertion is a push_back and a short walk for late ones.
#include "engine/history/history.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <functional>

#include "engine/history/active.hpp"

namespace meniscus::engine {
namespace {

constexpr double kDay = 86400.0;
constexpr double kMatchDays = 3.0;  // common practice: an injection given within three days of plan

double day_start(double seconds) { return std::floor(seconds / kDay); }

/// The pool owns every record; a patient's list holds views that stay valid until they are dropped.
HistoryRecord& writable(const HistoryRecord* record) {
  return *const_cast<HistoryRecord*>(record);  // NOLINT(cppcoreguidelines-pro-type-const-cast)
}

KeptFields::Text text_kept(FieldKind kind, bool written) {
  using Text = KeptFields::Text;
  if (written) return Text::Written;
  if (kind == FieldKind::Word || kind == FieldKind::Code) return Text::Word;
  return kind == FieldKind::Id || kind == FieldKind::Text ? Text::Known : Text::Nothing;
}

}  // namespace

Action action_of(const OrderBlock& block, unsigned lane) {
  static const Word kChange = word_hash("change");
  static const Word kStop = word_hash("stop");
  static const Word kCancel = word_hash("cancel");
  static const Word kGiven = word_hash("given");
  const Value action = block.value(lane, FieldId::OrderAction);
  if (!action.known()) {
    return block.value(lane, FieldId::OrderGiven).known() ? Action::Given : Action::New;
  }
  if (action.aux == kChange) return Action::Change;
  if (action.aux == kStop) return Action::Stop;
  if (action.aux == kCancel) return Action::Cancel;
  return action.aux == kGiven ? Action::Given : Action::New;
}

History::History(double look_back, const FieldSet& keep, const FieldSet& keep_written)
    : look_back_(look_back) {
  kept_.slot.fill(KeptFields::kNowhere);
  for (const FieldInfo& field : fields()) {
    const std::size_t i = index(field.id);
    if (!keep.test(i) && !keep_written.test(i)) continue;
    kept_.slot[i] = static_cast<std::uint8_t>(kept_.fields.size());
    KeptFields::Kept kept{field.id, text_kept(field.kind, keep_written.test(i)),
                          KeptFields::kNowhere, KeptFields::kNowhere, is_list(field.kind)};
    if (kept.text != KeptFields::Text::Nothing && !kept.list)
      kept.text_slot = static_cast<std::uint8_t>(kept_.texts++);
    if (field.kind == FieldKind::Date || field.kind == FieldKind::MonthEnd)
      kept.date_slot = static_cast<std::uint8_t>(kept_.dates++);
    kept_.fields.push_back(kept);
  }
  draft_slots_.resize(kept_.fields.size());
  draft_texts_.resize(kept_.texts);
  draft_.slots = draft_slots_;
  draft_.texts = draft_texts_;
}

History::~History() = default;

const History::Records& History::of(Word patient) const {
  static const Records kNothing;
  const Records* records = patients_.find(standing(patient));
  return records == nullptr ? kNothing : *records;
}

HistoryRecord& History::take() {
  ++records_;
  if (free_.empty()) {
    HistoryRecord& record = records_room_.take(1).front();
    record.kept = &kept_;
    record.dates = slots_.take(kept_.dates).data();
    return record;
  }
  HistoryRecord& record = *free_.back();
  free_.pop_back();
  HistoryRecord fresh;
  fresh.kept = record.kept;
  fresh.dates = record.dates;
  record = fresh;
  return record;
}

/// The record's memory is used again, and what it said too, when nobody else says it.
void History::give_back(const HistoryRecord* record) {
  free_.push_back(&writable(record));
  auto* const contents = const_cast<RecordContents*>(record->contents);  // NOLINT(*-const-cast)
  if (contents == nullptr || --contents->users > 0) return;
  if (contents->hash != 0) shared_.erase(contents->hash);
  free_contents_.push_back(contents);
}

std::string_view History::word_text(Word word, std::string_view text) {
  std::string_view& kept = words_.find_or_add(word);
  if (kept.empty() && !text.empty()) {
    const std::span<char> room = texts_.take(text.size());
    std::copy(text.begin(), text.end(), room.begin());
    kept = {room.data(), room.size()};
  }
  return kept;
}

void History::fill(HistoryRecord& record, const OrderBlock& block, unsigned lane) {
  draft_.known.reset();
  draft_.none.reset();
  for (std::size_t slot = 0; slot < kept_.fields.size(); ++slot) {
    const KeptFields::Kept& kept = kept_.fields[slot];
    if (kept.date_slot != KeptFields::kNowhere) {
      take_date(record, slot, block, lane);
    } else {
      take_value(slot, block, lane);
    }
    if (kept.text_slot != KeptFields::kNowhere)
      draft_texts_[kept.text_slot] = text_of(slot, block, lane);
  }
  record.contents = shared(draft_);
}

void History::take_date(HistoryRecord& record, std::size_t slot, const OrderBlock& block,
                        unsigned lane) {
  const KeptFields::Kept& kept = kept_.fields[slot];
  const OrderBlock::Column& column = block.column(kept.field);
  const auto bit = static_cast<std::uint16_t>(1U << kept.date_slot);
  if ((column.none >> lane & 1U) != 0) record.none_dates |= bit;
  if ((column.known >> lane & 1U) == 0) return;
  record.known_dates |= bit;
  record.dates[kept.date_slot] = {column.number[lane], column.aux[lane]};
}

void History::take_value(std::size_t slot, const OrderBlock& block, unsigned lane) {
  const KeptFields::Kept& kept = kept_.fields[slot];
  const OrderBlock::Column& column = block.column(kept.field);
  const Lanes bit = Lanes{1} << lane;
  if ((column.none & bit) != 0) draft_.none.set(slot);
  const bool known = (column.known & bit) != 0 && !kept.list;
  if (known) draft_.known.set(slot);
  draft_slots_[slot] = known ? KeptValue{column.number[lane], column.aux[lane]} : KeptValue{};
}

/// What is kept of a field's text; it is still the block's.
std::string_view History::text_of(std::size_t slot, const OrderBlock& block, unsigned lane) const {
  const KeptFields::Kept& kept = kept_.fields[slot];
  const OrderBlock::Column& column = block.column(kept.field);
  if ((column.known >> lane & 1U) == 0 || kept.list) return {};
  const bool as_written = kept.text == KeptFields::Text::Written;
  return as_written ? block.written(lane, kept.field) : column.text[lane];
}

/// The text of this slot is kept once for all records.
bool History::is_word(const RecordContents& contents, std::size_t slot) const {
  return kept_.fields[slot].text == KeptFields::Text::Word && contents.known[slot] &&
         contents.slots[slot].aux != kNoWord;
}

/// Of everything but the texts of words, which the words stand for.
std::uint64_t History::hash_of(const RecordContents& contents) const {
  std::uint64_t hash = std::hash<FieldSet>{}(contents.known);
  const auto add = [&hash](std::uint64_t word) {
    hash = (hash ^ word) * 0xD6E8FEB86659FD93U;
    hash ^= hash >> 32U;
  };
  add(std::hash<FieldSet>{}(contents.none));
  for (std::size_t slot = 0; slot < kept_.fields.size(); ++slot) {
    add(std::bit_cast<std::uint64_t>(contents.slots[slot].number));
    add(contents.slots[slot].aux);
    const std::uint8_t at = kept_.fields[slot].text_slot;
    if (at != KeptFields::kNowhere && !is_word(contents, slot) && !contents.texts[at].empty())
      add(std::hash<std::string_view>{}(contents.texts[at]));
  }
  return hash | 1U;
}

bool History::same(const RecordContents& a, const RecordContents& b) const {
  if (a.known != b.known || a.none != b.none) return false;
  for (std::size_t slot = 0; slot < kept_.fields.size(); ++slot) {
    const auto number = [slot](const RecordContents& c) {
      return std::bit_cast<std::uint64_t>(c.slots[slot].number);
    };
    if (number(a) != number(b) || a.slots[slot].aux != b.slots[slot].aux) return false;
    const std::uint8_t at = kept_.fields[slot].text_slot;
    if (at != KeptFields::kNowhere && !is_word(a, slot) && a.texts[at] != b.texts[at]) return false;
  }
  return true;
}

/// Contents like `draft` that outlive the block: somebody's already, or new ones.
const RecordContents* History::shared(const RecordContents& draft) {
  const std::uint64_t hash = hash_of(draft);
  RecordContents*& known = shared_.find_or_add(hash);
  if (known != nullptr && same(*known, draft)) {
    ++known->users;
    return known;
  }
  RecordContents& fresh = copy(draft);
  fresh.users = 1;
  // Two with one hash: the second is its record's alone.
  fresh.hash = known == nullptr ? hash : 0;
  if (known == nullptr) known = &fresh;
  return &fresh;
}

RecordContents& History::copy(const RecordContents& draft) {
  RecordContents* fresh = nullptr;
  if (free_contents_.empty()) {
    fresh = contents_room_.take(1).data();
    fresh->slots = slots_.take(kept_.fields.size());
    fresh->texts = text_slots_.take(kept_.texts);
  } else {
    fresh = free_contents_.back();
    free_contents_.pop_back();
  }
  fresh->known = draft.known;
  fresh->none = draft.none;
  std::copy(draft.slots.begin(), draft.slots.end(), fresh->slots.begin());
  std::copy(draft.texts.begin(), draft.texts.end(), fresh->texts.begin());
  own_texts(*fresh);
  return *fresh;
}

/// Copies the texts from the block's memory: those of words once for all, others into own room.
void History::own_texts(RecordContents& contents) {
  std::size_t letters = 0;
  for (std::size_t slot = 0; slot < kept_.fields.size(); ++slot) {
    const std::uint8_t at = kept_.fields[slot].text_slot;
    if (at == KeptFields::kNowhere) continue;
    if (is_word(contents, slot)) {
      contents.texts[at] = word_text(contents.slots[slot].aux, contents.texts[at]);
    } else {
      letters += contents.texts[at].size();
    }
  }
  if (letters == 0) return;
  if (contents.text_room.size() < letters) contents.text_room = texts_.take(letters);
  char* to = contents.text_room.data();
  for (std::size_t slot = 0; slot < kept_.fields.size(); ++slot) {
    const std::uint8_t at = kept_.fields[slot].text_slot;
    if (at == KeptFields::kNowhere || is_word(contents, slot)) continue;
    std::string_view& text = contents.texts[at];
    char* const begin = to;
    to = std::copy(text.begin(), text.end(), to);
    text = {begin, static_cast<std::size_t>(to - begin)};
  }
}

void History::insert(Records& records, const HistoryRecord& record) {
  auto at = records.end();
  while (at != records.begin() && (*(at - 1))->when > record.when)
    --at;
  records.insert(at, &record);
}

void History::drop_old(Records& records) {
  if (records.empty()) return;
  const double oldest = records.back()->when - look_back_ - kDay;
  std::size_t drop = 0;
  while (drop < records.size() && records[drop]->when < oldest)
    ++drop;
  if (drop == 0) return;
  for (std::size_t i = 0; i < drop; ++i)
    give_back(records[i]);
  records_ -= drop;
  records.erase(records.begin(), records.begin() + static_cast<std::ptrdiff_t>(drop));
}

Word History::standing(Word patient) const {
  if (merged_.size() == 0) return patient;
  for (const Word* next = merged_.find(patient); next != nullptr; next = merged_.find(patient))
    patient = *next;
  return patient;
}

void History::merge(Word former, Word patient) {
  const Word from = standing(former);
  const Word into = standing(patient);
  if (former == kNoWord || patient == kNoWord || former == patient) return;
  if (from == into) {
    // Merged the other way before: the id that is said last is the one that stands.
    if (from != former) return;
    merged_.erase(patient);
    merge(former, patient);
    return;
  }
  merged_.find_or_add(from) = into;
  const Records* const found = patients_.find(from);
  if (found == nullptr) return;
  const Records moved = *found;
  patients_.erase(from);
  Records& records = patients_.find_or_add(into);
  for (const HistoryRecord* record : moved)
    insert(records, *record);
}

void History::release(Records& records) {
  for (const HistoryRecord* record : records)
    give_back(record);
  records_ -= records.size();
  records.clear();
}

void History::forget(Word patient) {
  patient = standing(patient);
  Records* const records = patients_.find(patient);
  if (records == nullptr) return;
  release(*records);
  patients_.erase(patient);
  const auto kept = std::remove_if(aside_.begin(), aside_.end(), [&](const auto& entry) {
    if (entry.first == patient) give_back(entry.second);
    return entry.first == patient;
  });
  aside_.erase(kept, aside_.end());
}

void History::forget_all() {
  patients_.for_each([this](Word, Records& records) { release(records); });
  patients_.clear();
  for (const auto& entry : aside_)
    give_back(entry.second);
  aside_.clear();
  merged_.clear();
}

void History::set_aside(const OrderBlock& block, unsigned lane) {
  const Action action = action_of(block, lane);
  const Word patient = standing(block.value(lane, FieldId::PatientId).aux);
  Records* const records = patients_.find(patient);
  if (records == nullptr || action == Action::Stop || action == Action::Cancel) return;
  const Word id = block.value(lane, FieldId::OrderId).aux;
  const Word filler = block.value(lane, FieldId::OrderFiller).aux;
  const EventKind kind = action == Action::Given ? EventKind::Given : EventKind::Ordered;
  auto newest = records->end();
  for (auto at = records->begin(); at != records->end(); ++at) {
    const bool same = (*at)->kind == kind && (*at)->id == id && (*at)->filler == filler;
    if (same && (newest == records->end() || (*at)->sequence > (*newest)->sequence)) newest = at;
  }
  if (newest == records->end()) return;
  aside_.emplace_back(patient, &writable(*newest));
  records->erase(newest);
  --records_;
}

/// What became of the record that was set aside for this one.
void History::take_standing(Word patient, HistoryRecord& record) {
  const auto at = std::find_if(aside_.begin(), aside_.end(), [&](const auto& entry) {
    const HistoryRecord& former = *entry.second;
    return entry.first == patient && former.kind == record.kind && former.id == record.id &&
           former.filler == record.filler && former.when == record.when;
  });
  if (at == aside_.end()) return;
  const HistoryRecord& former = *at->second;
  record.cancelled = former.cancelled;
  record.fulfilled = former.fulfilled;
  record.stopped = former.stopped;
  record.stopped_at = former.stopped_at;
  give_back(at->second);
  aside_.erase(at);
}

void History::end_order(Records& records, const OrderBlock& block, unsigned lane,
                        const Value& event, bool cancel) {
  const Word id = block.value(lane, FieldId::OrderId).aux;
  const Word filler = block.value(lane, FieldId::OrderFiller).aux;
  for (const HistoryRecord* record : records) {
    if (record->kind != EventKind::Ordered || !record->same_order(id, filler)) continue;
    if (cancel) {
      writable(record).cancelled = true;
    } else {
      writable(record).stopped = true;
      writable(record).stopped_at = event.number;
    }
  }
}

namespace {

/// The planned injection that `given` stands for: by the order it fulfils or its own number, else
/// the nearest planned one of the same substance.
HistoryRecord* planned_for(const History::Records& records, const HistoryRecord& given) {
  const HistoryRecord* nearest = nullptr;
  for (const HistoryRecord* record : records) {
    if (record->kind != EventKind::Ordered || record->cancelled || record->replaced) continue;
    const bool named = (given.fulfils != kNoWord &&
                        (record->id == given.fulfils || record->filler == given.fulfils)) ||
                       record->same_order(given.id, given.filler);
    if (named) return &writable(record);
    if (given.fulfils != kNoWord || record->fulfilled || given.substance == kNoWord ||
        record->substance != given.substance) {
      continue;
    }
    const double apart = std::fabs(day_start(record->when) - day_start(given.when));
    if (apart > kMatchDays) continue;
    if (nearest == nullptr || apart < std::fabs(day_start(nearest->when) - day_start(given.when))) {
      nearest = record;
    }
  }
  return nearest == nullptr ? nullptr : &writable(nearest);
}

}  // namespace

void History::add(const OrderBlock& block, unsigned lane, const Value& event) {
  const Value patient = block.value(lane, FieldId::PatientId);
  if (!patient.known() || look_back_ <= 0) return;
  const Word standing_id = standing(patient.aux);
  Records& records = patients_.find_or_add(standing_id);
  const Action action = action_of(block, lane);
  if (action == Action::Stop || action == Action::Cancel) {
    end_order(records, block, lane, event, action == Action::Cancel);
    return;
  }
  HistoryRecord& record = take();
  record.kind = action == Action::Given ? EventKind::Given : EventKind::Ordered;
  record.sequence = ++sequence_;
  record.when = event.number;
  record.when_packed = event.aux;
  record.day = static_cast<std::int32_t>(day_start(record.when));
  record.id = block.value(lane, FieldId::OrderId).aux;
  record.filler = block.value(lane, FieldId::OrderFiller).aux;
  record.fulfils = block.value(lane, FieldId::OrderFulfils).aux;
  record.substance = block.value(lane, FieldId::SubstanceCode).aux;
  fill(record, block, lane);
  record.active_until = active_until(record);
  if (!aside_.empty()) take_standing(standing_id, record);
  if (record.kind == EventKind::Given) {
    if (HistoryRecord* planned = planned_for(records, record)) planned->fulfilled = true;
  } else {
    for (const HistoryRecord* former : records) {
      if (former->kind == EventKind::Ordered && former->same_order(record.id, record.filler)) {
        writable(former).replaced = true;
      }
    }
  }
  insert(records, record);
  drop_old(records);
}

}  // namespace meniscus::engine
