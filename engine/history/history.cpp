// A record is put together, matched with its patient's others, and copied into their list.
#include "engine/history/history.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace meniscus::engine {
namespace {

constexpr double kDay = 86400.0;
constexpr double kMatchDays = 3.0;  // common practice: an injection given within three days of plan

double day_start(double seconds) { return std::floor(seconds / kDay); }

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
    : look_back_(look_back), pool_(keep, keep_written) {}
History::~History() = default;

const History::Records& History::of(Word patient) const {
  static const Records kNothing;
  const Records* records = patients_.find(standing(patient));
  return records == nullptr ? kNothing : *records;
}

void History::drop_old(Records& records) {
  if (records.empty()) return;
  const double oldest = records.back().when - look_back_ - kDay;
  std::size_t drop = 0;
  for (; drop < records.size() && records[drop].when < oldest; ++drop)
    pool_.give_back(records[drop]);
  records_ -= drop;
  records.drop_oldest(drop);
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
  Records* const found = patients_.find(from);
  if (found == nullptr) return;
  const Records moved = std::move(*found);
  patients_.erase(from);
  Records& records = patients_.find_or_add(into);
  for (const HistoryRecord& record : moved)
    records.insert(record);
}

void History::release(Records& records) {
  for (const HistoryRecord& record : records)
    pool_.give_back(record);
  records_ -= records.size();
  records.drop_oldest(records.size());
}

void History::forget(Word patient) {
  patient = standing(patient);
  Records* const records = patients_.find(patient);
  if (records == nullptr) return;
  release(*records);
  patients_.erase(patient);
  const auto kept = std::remove_if(aside_.begin(), aside_.end(), [&](const auto& entry) {
    if (entry.first == patient) pool_.give_back(entry.second);
    return entry.first == patient;
  });
  aside_.erase(kept, aside_.end());
}

void History::forget_all() {
  patients_.for_each([this](Word, Records& records) { release(records); });
  patients_.clear();
  for (const auto& entry : aside_)
    pool_.give_back(entry.second);
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
  const HistoryRecord* newest = nullptr;
  for (const HistoryRecord& record : *records) {
    const bool same = record.kind == kind && record.id == id && record.filler == filler;
    if (same && (newest == nullptr || record.came_after(*newest))) newest = &record;
  }
  if (newest == nullptr) return;
  aside_.emplace_back(patient, *newest);
  records->erase(newest);
  --records_;
}

/// What became of the record that was set aside for this one.
void History::take_standing(Word patient, HistoryRecord& record) {
  const auto at = std::find_if(aside_.begin(), aside_.end(), [&](const auto& entry) {
    const HistoryRecord& former = entry.second;
    return entry.first == patient && former.kind == record.kind && former.id == record.id &&
           former.filler == record.filler && former.when == record.when;
  });
  if (at == aside_.end()) return;
  const HistoryRecord& former = at->second;
  record.cancelled = record.cancelled || former.cancelled;
  record.fulfilled = former.fulfilled;
  if (former.stopped) {
    record.stopped = true;
    record.stopped_at = former.stopped_at;
  }
  pool_.give_back(former);
  aside_.erase(at);
}

void History::end_order(Records& records, const OrderBlock& block, unsigned lane,
                        const Value& event, bool cancel) {
  const Word id = block.value(lane, FieldId::OrderId).aux;
  const Word filler = block.value(lane, FieldId::OrderFiller).aux;
  for (HistoryRecord& record : records) {
    if (record.kind != EventKind::Ordered || !record.same_order(id, filler)) continue;
    if (cancel) {
      record.cancelled = true;
    } else {
      record.stopped = true;
      record.stopped_at = event.number;
    }
  }
}

namespace {

/// The planned injection that `given` stands for: by the order it fulfils or its own number, else
/// the nearest planned one of the same substance.
HistoryRecord* planned_for(History::Records& records, const HistoryRecord& given, Word fulfils) {
  HistoryRecord* nearest = nullptr;
  for (HistoryRecord& record : records) {
    if (record.kind != EventKind::Ordered || record.cancelled || record.replaced) continue;
    const bool named = (fulfils != kNoWord && (record.id == fulfils || record.filler == fulfils)) ||
                       record.same_order(given.id, given.filler);
    if (named) return &record;
    if (fulfils != kNoWord || record.fulfilled || given.substance() == kNoWord ||
        record.substance() != given.substance()) {
      continue;
    }
    const double apart = std::fabs(day_start(record.when) - day_start(given.when));
    if (apart > kMatchDays) continue;
    if (nearest == nullptr || apart < std::fabs(day_start(nearest->when) - day_start(given.when))) {
      nearest = &record;
    }
  }
  return nearest;
}

}  // namespace

HistoryRecord History::record_of(const OrderBlock& block, unsigned lane, EventKind kind,
                                 const Value& event) {
  const Date when = unpack(event.number, event.aux);
  HistoryRecord record;
  record.when = event.number;
  record.when_offset = when.offset_minutes;
  record.when_precision = when.precision;
  record.when_has_offset = when.has_offset;
  record.kind = kind;
  record.sequence = ++sequence_;
  record.id = block.value(lane, FieldId::OrderId).aux;
  record.filler = block.value(lane, FieldId::OrderFiller).aux;
  pool_.fill(record, block, lane);
  return record;
}

namespace {

/// An order that comes with the word that it is no longer in force is none of the active ones; one
/// that was cancelled, or entered in error, was never to be given.
void take_status(const OrderBlock& block, unsigned lane, HistoryRecord& record) {
  static const Word kCancelled = word_hash("cancelled");
  static const std::array<Word, 3> kOver = {word_hash("stopped"), word_hash("completed"),
                                            word_hash("expired")};
  const Value status = block.value(lane, FieldId::OrderStatus);
  if (!status.known()) return;
  record.cancelled = status.aux == kCancelled;
  if (std::find(kOver.begin(), kOver.end(), status.aux) == kOver.end()) return;
  record.stopped = true;
  record.stopped_at = record.when;
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
  const EventKind kind = action == Action::Given ? EventKind::Given : EventKind::Ordered;
  HistoryRecord record = record_of(block, lane, kind, event);
  if (kind == EventKind::Ordered) take_status(block, lane, record);
  if (!aside_.empty()) take_standing(standing_id, record);
  if (kind == EventKind::Given) {
    const Word fulfils = block.value(lane, FieldId::OrderFulfils).aux;
    if (HistoryRecord* planned = planned_for(records, record, fulfils)) planned->fulfilled = true;
  } else {
    for (HistoryRecord& former : records) {
      if (former.kind == EventKind::Ordered && former.same_order(record.id, record.filler)) {
        former.replaced = true;
      }
    }
  }
  records.insert(record);
  ++records_;
  drop_old(records);
}

}  // namespace meniscus::engine
