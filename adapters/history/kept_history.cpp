// Contract: see kept_history.hpp.
#include "adapters/history/kept_history.hpp"

#include <algorithm>
#include <functional>
#include <iterator>

#include "adapters/history/postgres_store.hpp"
#include "adapters/history/sqlite_store.hpp"
#include "adapters/history/write_behind_store.hpp"
#include "adapters/json/json_source.hpp"
#include "adapters/support/view_bytes.hpp"
#include "engine/order/feed.hpp"
#include "engine/order/field_text.hpp"

namespace meniscus::adapters {

using engine::Done;
using engine::FieldId;
using engine::OrderBlock;
using engine::RecordKind;
using engine::Status;

namespace {

constexpr std::string_view kSqlite = "sqlite:";
constexpr std::string_view kPostgres = "postgresql:";
constexpr std::size_t kPiece = std::size_t{256} << 10U;
constexpr double kDay = 86400.0;
constexpr std::size_t kMostNumbers = 256;  // of a patient; who has more has long moved on

std::int64_t day_of(const engine::Value& date) {
  return static_cast<std::int64_t>(date.number / kDay);
}

std::int64_t judged_day(const OrderBlock& block, unsigned lane, const engine::Days& days) {
  return day_of(engine::facts_of(block, lane, days).today);
}

bool is_remembered(const OrderBlock& block, unsigned lane) {
  return block.record(lane).kind == RecordKind::Order &&
         block.value(lane, FieldId::PatientId).known();
}

/// The lane is of somebody whose orders are kept.
bool has_patient(const OrderBlock& block, unsigned lane) {
  const RecordKind kind = block.record(lane).kind;
  return (kind == RecordKind::Order || kind == RecordKind::Merge) &&
         block.value(lane, FieldId::PatientId).known();
}

/// The same order of the same patient stands further up in the block.
bool stands_before(const OrderBlock& block, unsigned lane) {
  for (unsigned other = 0; other < lane; ++other) {
    const auto same = [&](FieldId field) {
      return block.value(other, field).aux == block.value(lane, field).aux;
    };
    if (is_remembered(block, other) && same(FieldId::PatientId) && same(FieldId::OrderId) &&
        same(FieldId::OrderFiller))
      return true;
  }
  return false;
}

void add_once(std::vector<std::string>& all, const std::string& one) {
  if (std::find(all.begin(), all.end(), one) == all.end()) all.push_back(one);
}

std::string patient_of(const OrderBlock& block, unsigned lane) {
  return std::string(block.value(lane, FieldId::PatientId).text);
}

}  // namespace

void begin_history(const OrderBlock& block, const engine::Days& days, engine::History& history) {
  for (unsigned lane = 0; lane < block.size(); ++lane) {
    if (history.since() != engine::History::kAlways) return;
    if (!is_remembered(block, lane)) continue;
    history.set_since(static_cast<double>(judged_day(block, lane, days)) * kDay);
  }
}

void know_since(std::optional<std::int64_t> day, engine::History& history) {
  if (!day) return;
  const double since = static_cast<double>(*day) * kDay;
  if (history.since() == engine::History::kAlways || since < history.since())
    history.set_since(since);
}

engine::Result<std::unique_ptr<OrderStore>> open_store(const std::string& place) {
  if (place.starts_with(kPostgres) && place.size() > kPostgres.size()) {
    const bool url = place.compare(kPostgres.size(), 2, "//") == 0;
    auto store = PostgresStore::open(url ? place : place.substr(kPostgres.size()));
    if (!store) return store.error();
    return std::unique_ptr<OrderStore>(std::move(*store));
  }
  if (!place.starts_with(kSqlite) || place.size() == kSqlite.size()) {
    return engine::Error{engine::Errc::Usage,
                         "`" + place +
                             "` is no history; write sqlite:PATH, or postgresql: and "
                             "where the database is"};
  }
  auto store = SqliteStore::open(place.substr(kSqlite.size()));
  if (!store) return store.error();
  return std::unique_ptr<OrderStore>(std::make_unique<WriteBehindStore>(std::move(*store)));
}

engine::Result<std::unique_ptr<KeptHistory>> KeptHistory::open(const std::string& place) {
  auto store = open_store(place);
  if (!store) return store.error();
  return std::make_unique<KeptHistory>(std::move(*store));
}

Status KeptHistory::load(std::shared_ptr<const engine::Program> program, std::int64_t today,
                         engine::History& history) {
  program_ = std::move(program);
  engine::CheckOptions options;
  options.today = today;
  reader_.emplace(program_, options);
  start_over(history);
  Status asked = ask_since(history);
  return asked ? load_merges(history) : asked;
}

/// In an empty store the first order will say so, this program's or another's.
Status KeptHistory::ask_since(engine::History& history) {
  const auto since = store_->since();
  if (!since) return since.error();
  has_since_ = since->has_value();
  know_since(*since, history);
  return Done{};
}

Status KeptHistory::load_merges(engine::History& history) {
  Status read = store_->each_merge([&](std::string_view former, std::string_view patient) {
    learn_merge(former, patient, history);
  });
  merges_loaded_ = read.has_value();
  return read;
}

void KeptHistory::learn_merge(std::string_view former, std::string_view patient,
                              engine::History& history) {
  const std::string into(patient);
  merged_.erase(into);
  merged_.insert_or_assign(std::string(former), into);
  history.merge(engine::id_hash(former), engine::id_hash(patient));
}

const std::string& KeptHistory::standing(const std::string& patient) const {
  const std::string* id = &patient;
  for (auto next = merged_.find(*id); next != merged_.end(); next = merged_.find(*id))
    id = &next->second;
  return *id;
}

void KeptHistory::start_over(engine::History& history) {
  history.forget_all();
  known_.clear();
  merged_.clear();
  merges_loaded_ = false;
}

bool KeptHistory::is_up_to_date(const std::string& patient) const {
  if (store_->is_shared()) return std::find(turn_.begin(), turn_.end(), patient) != turn_.end();
  return known_.find(engine::id_hash(patient)) != nullptr;
}

Status KeptHistory::begin(const std::vector<std::string>& patients, engine::History& history) {
  if (turn_.empty() && known_.size() > kMostPatients) start_over(history);
  Status done = merges_loaded_ ? Status(Done{}) : load_merges(history);
  if (done && !has_since_) done = ask_since(history);
  if (!done) return done;
  std::vector<std::string> fresh;
  for (const std::string& patient : patients) {
    const std::string& id = standing(patient);
    if (!is_up_to_date(id)) add_once(fresh, id);
    add_once(turn_, id);
  }
  const std::vector<std::string_view> names(fresh.begin(), fresh.end());
  done = store_->begin(names);
  return done && !fresh.empty() ? read(fresh, history) : done;
}

/// What was kept of these patients since they were read last goes into `history`.
Status KeptHistory::read(const std::vector<std::string>& patients, engine::History& history) {
  std::vector<OrderStore::Wanted> wanted;
  wanted.reserve(patients.size());
  for (const std::string& patient : patients)
    wanted.push_back({patient, known_.find_or_add(engine::id_hash(patient)).receipt});
  text_.clear();
  std::vector<std::string> moved;  // that others have merged
  Status read = store_->read(
      wanted,
      [&](const KeptOrder& kept) {
        Known& known = known_.find_or_add(engine::id_hash(kept.order.patient));
        known.receipt = std::max(known.receipt, kept.receipt);
        same_as_last(known, kept.order.number, kept.order.text);
        text_.append(kept.order.text).append("\n");
        if (text_.size() >= kPiece) remember(history);
      },
      [&](std::string_view former, std::string_view patient) {
        const auto known = merged_.find(std::string(former));
        if (known != merged_.end() && known->second == patient) return;
        forget(std::string(former), history);
        learn_merge(former, patient, history);
        moved.emplace_back(patient);
      });
  if (!read) return read;
  remember(history);
  if (moved.empty()) return read;
  // Whoever they were merged into has their orders now, and may have been read before.
  for (const std::string& patient : moved) {
    forget(patient, history);
    std::erase(turn_, standing(patient));
  }
  return begin(moved, history);
}

void KeptHistory::forget(const std::string& patient, engine::History& history) {
  history.forget(engine::id_hash(patient));
  known_.erase(engine::id_hash(patient));
  known_.erase(engine::id_hash(standing(patient)));
}

void KeptHistory::remember(engine::History& history) {
  if (text_.empty()) return;
  const engine::Feed feed;
  const JsonLimits limits{.chunk_bytes = text_.size() + 1};
  const auto source = make_json_source({"history", std::make_unique<ViewBytes>(text_), 0},
                                       {program_.get(), &feed}, limits);
  while (source->next(block_))
    reader_->remember(block_, history);
  text_.clear();
}

bool KeptHistory::same_as_last(Known& known, std::string_view number, std::string_view text) {
  const std::uint64_t order = engine::id_hash(number);
  const std::uint64_t now = std::hash<std::string_view>{}(text);
  for (auto& [other, last] : known.last) {
    if (other == order) return std::exchange(last, now) == now;
  }
  if (known.last.size() == kMostNumbers) known.last.erase(known.last.begin());
  known.last.emplace_back(order, now);
  return false;
}

Status KeptHistory::add_order(const OrderBlock& block, unsigned lane, const engine::Days& days) {
  const engine::OrderFacts facts = engine::facts_of(block, lane, days);
  const std::int64_t day = day_of(facts.today);
  text_.clear();
  writer_.append(text_, block, lane, day);
  const std::string id = patient_of(block, lane);
  const std::string& patient = standing(id);
  const std::string_view number = block.value(lane, FieldId::OrderId).text;
  Known& known = known_.find_or_add(engine::id_hash(patient));
  if (same_as_last(known, number, text_)) {
    again_.push_back(lane);
    return Done{};
  }
  if (!has_since_) {
    Status set = store_->set_since(day);
    if (!set) return set;
    has_since_ = true;
  }
  // The day until which it may matter: an order for later counts from that day on.
  const std::int64_t planned = facts.planned_day.known() ? day_of(facts.planned_day) : day;
  const auto receipt = store_->add({patient, number, std::max(day, planned), text_});
  if (!receipt) return receipt.error();
  known.receipt = *receipt;
  return Done{};
}

Status KeptHistory::add_merge(const OrderBlock& block, unsigned lane) {
  const std::string former(block.record(lane).former);
  const std::string patient = patient_of(block, lane);
  const std::string from = standing(former);
  const std::string into = standing(patient);
  // Known already; but where `patient` was merged into `former` before, it is turned round.
  if (former == patient || (from == into && from != former)) return Done{};
  const std::string& stays = from == into ? patient : into;
  Status merged = store_->merge(from, stays);
  if (!merged) return merged;
  // `history` learns of it when the lane is judged; here, where orders are kept from now on.
  merged_.erase(stays);
  merged_.insert_or_assign(from, stays);
  turn_merges_.emplace_back(former, patient);
  return merged;
}

Status KeptHistory::add(const OrderBlock& block, const engine::Days& days,
                        engine::History& history) {
  std::vector<std::string> patients;
  for (unsigned lane = 0; lane < block.size(); ++lane) {
    if (!has_patient(block, lane)) continue;
    add_once(patients, patient_of(block, lane));
    if (block.record(lane).kind == RecordKind::Merge)
      add_once(patients, std::string(block.record(lane).former));
  }
  again_.clear();
  if (patients.empty()) return Done{};
  Status done = begin(patients, history);
  for (unsigned lane = 0; done && lane < block.size(); ++lane) {
    if (!has_patient(block, lane)) continue;
    done = block.record(lane).kind == RecordKind::Merge ? add_merge(block, lane)
                                                        : add_order(block, lane, days);
  }
  if (!done) return done;
  begin_history(block, days, history);
  // What stands twice in one block was not judged twice before.
  for (const unsigned lane : again_)
    if (!stands_before(block, lane)) history.set_aside(block, lane);
  return done;
}

Status KeptHistory::commit(engine::History& history) {
  Status kept = store_->commit();
  if (!kept) {
    roll_back(history);
    return kept;
  }
  // Their orders have other receipts now: they are read again when they come again.
  for (const auto& [former, patient] : turn_merges_) {
    history.merge(engine::id_hash(former), engine::id_hash(patient));
    forget(former, history);
    forget(patient, history);
  }
  turn_merges_.clear();
  turn_.clear();
  return kept;
}

void KeptHistory::roll_back(engine::History& history) {
  store_->roll_back();
  for (const std::string& patient : turn_)
    forget(patient, history);
  turn_.clear();
  has_since_ = false;  // it may have been set in this turn
  if (turn_merges_.empty()) return;
  turn_merges_.clear();
  start_over(history);
}

bool KeptHistory::hand_over(const std::function<void()>& landed) {
  // After a merge `history` changes once the turn is kept.
  if (!turn_merges_.empty()) return false;
  std::list<std::vector<std::string>> flight(1);  // there may be no memory for it
  if (!store_->hand_over(landed)) return false;
  flight.front().swap(turn_);
  flying_.splice(flying_.end(), flight);
  return true;
}

engine::Result<std::size_t> KeptHistory::settle(engine::History& history) {
  engine::Result<std::size_t> landed = store_->settle();
  if (landed) {
    flying_.erase(flying_.begin(),
                  std::next(flying_.begin(), static_cast<std::ptrdiff_t>(*landed)));
    return landed;
  }
  for (const std::vector<std::string>& turn : flying_)
    for (const std::string& patient : turn)
      forget(patient, history);
  flying_.clear();
  roll_back(history);
  return landed;
}

Status KeptHistory::keep(const OrderBlock& block, const engine::Days& days,
                         engine::History& history) {
  Status kept = add(block, days, history);
  if (kept) return commit(history);
  roll_back(history);
  return kept;
}

Status KeptHistory::reach() {
  const auto since = store_->since();
  return since ? Status(Done{}) : Status(since.error());
}

Status KeptHistory::try_to_keep() {
  Status done = store_->begin({});
  if (done) done = store_->add_answer({});
  if (done) done = store_->commit();
  if (!done) store_->roll_back();
  return done;
}

engine::Result<std::optional<KeptAnswer>> KeptHistory::answer_to(std::string_view sender,
                                                                 std::string_view control,
                                                                 double oldest) {
  Status begun = store_->begin({});
  if (!begun) return begun.error();
  return store_->answer_to(sender, control, oldest);
}

Status KeptHistory::expect(std::span<const OrderStore::MessageId> messages, double oldest) {
  Status begun = store_->begin({});
  return begun && !messages.empty() ? store_->expect(messages, oldest) : begun;
}

}  // namespace meniscus::adapters
