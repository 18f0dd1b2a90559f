// Records per patient in vectors sorted by event time: nearly every record is appended at the end,
// so insertion is a push_back and a short walk for late ones.
#include "engine/history/history.hpp"

#include <algorithm>
#include <cmath>

namespace meniscus::engine {
namespace {

constexpr double kDay = 86400.0;
constexpr double kMatchDays = 3.0;  // common practice: an injection given within three days of plan

double day_start(double seconds) { return std::floor(seconds / kDay); }

/// The pool owns every record; a patient's list holds views that stay valid until they are dropped.
HistoryRecord& writable(const HistoryRecord* record) {
  return *const_cast<HistoryRecord*>(record);  // NOLINT(cppcoreguidelines-pro-type-const-cast)
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

Value HistoryRecord::value(FieldId field) const {
  for (const Field& f : fields) {
    if (f.field == field) return f.value;
  }
  return Value::missing();
}

std::string_view HistoryRecord::written(FieldId field) const {
  for (const Field& f : fields) {
    if (f.field == field) return f.written;
  }
  return {};
}

std::int64_t HistoryRecord::day() const { return static_cast<std::int64_t>(day_start(when)); }

History::History(double look_back, const FieldSet& keep, const FieldSet& keep_written)
    : look_back_(look_back), keep_written_(keep_written) {
  for (const FieldInfo& field : fields()) {
    const std::size_t i = index(field.id);
    if (keep.test(i) || keep_written.test(i)) kept_.push_back(field.id);
  }
}

History::~History() = default;

const History::Records& History::of(Word patient) const {
  static const Records kNothing;
  const auto at = patients_.find(patient);
  return at == patients_.end() ? kNothing : at->second;
}

HistoryRecord& History::take() {
  ++records_;
  if (free_.empty()) return pool_.emplace_back();
  HistoryRecord& record = *free_.back();
  free_.pop_back();
  const auto room = record.room;
  const auto text_room = record.text_room;
  record = HistoryRecord{};
  record.room = room;
  record.text_room = text_room;
  return record;
}

void History::fill(HistoryRecord& record, const OrderBlock& block, unsigned lane) {
  std::size_t count = 0;
  std::size_t letters = 0;
  const auto each_kept = [&](auto&& use) {
    for (const FieldId field : kept_) {
      const Value value = block.value(lane, field);
      if (value.state != State::Missing) use(field, value);
    }
  };
  each_kept([&](FieldId field, const Value& value) {
    ++count;
    letters += value.text.size();
    if (keep_written_.test(index(field))) letters += block.written(lane, field).size();
  });
  if (record.room.size() < count) record.room = fields_.take(count);
  if (record.text_room.size() < letters) record.text_room = texts_.take(letters);
  record.fields = record.room.first(count);
  char* text = record.text_room.data();
  const auto copy = [&](std::string_view from) -> std::string_view {
    if (from.empty()) return {};
    char* const begin = text;
    text = std::copy(from.begin(), from.end(), text);
    return {begin, from.size()};
  };
  std::size_t i = 0;
  each_kept([&](FieldId field, const Value& value) {
    HistoryRecord::Field& to = record.fields[i++];
    to = {field, value, {}};
    to.value.text = copy(value.text);
    if (keep_written_.test(index(field))) to.written = copy(block.written(lane, field));
    // The parts of a list live in the block: lists are not remembered.
    if (info(field).kind >= FieldKind::Words) to.value = Value::missing();
  });
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
    free_.push_back(&writable(records[i]));
  records_ -= drop;
  records.erase(records.begin(), records.begin() + static_cast<std::ptrdiff_t>(drop));
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
  Records& records = patients_[patient.aux];
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
  record.id = block.value(lane, FieldId::OrderId).aux;
  record.filler = block.value(lane, FieldId::OrderFiller).aux;
  record.fulfils = block.value(lane, FieldId::OrderFulfils).aux;
  record.substance = block.value(lane, FieldId::SubstanceCode).aux;
  fill(record, block, lane);
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
