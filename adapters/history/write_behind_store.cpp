// Contract: see write_behind_store.hpp.
#include "adapters/history/write_behind_store.hpp"

#include <algorithm>
#include <exception>
#include <system_error>
#include <utility>

#include "engine/order/field_text.hpp"

namespace meniscus::adapters {

using engine::Done;
using engine::Status;

namespace {
std::uint64_t hash_of(std::string_view sender, std::string_view control) {
  return engine::id_hash(sender) * 0x9E3779B97F4A7C15 + engine::id_hash(control);
}
}  // namespace

WriteBehindStore::Additions::Part WriteBehindStore::Additions::note(std::string_view bytes) {
  const Part part{bytes_.size(), bytes.size()};
  bytes_.append(bytes);
  return part;
}

void WriteBehindStore::Additions::add(const StoredOrder& order) {
  orders_.push_back({note(order.patient), note(order.number), note(order.text), order.day});
}

void WriteBehindStore::Additions::add(const KeptAnswer& answer) {
  answers_.push_back({note(answer.sender), note(answer.control), note(answer.digest),
                      note(answer.answer), answer.at});
}

void WriteBehindStore::Additions::clear() {
  bytes_.clear();
  orders_.clear();
  answers_.clear();
}

bool WriteBehindStore::Additions::has_order_of(std::string_view patient) const {
  return std::ranges::any_of(orders_,
                             [&](const Order& order) { return bytes(order.patient) == patient; });
}

std::optional<KeptAnswer> WriteBehindStore::Additions::answer_to(std::string_view sender,
                                                                 std::string_view control) const {
  const auto last = std::find_if(answers_.rbegin(), answers_.rend(), [&](const Answer& one) {
    return bytes(one.control) == control && bytes(one.sender) == sender;
  });
  if (last == answers_.rend()) return std::nullopt;
  return KeptAnswer{sender, control, bytes(last->digest), last->at, bytes(last->answer)};
}

Status WriteBehindStore::Additions::write(OrderStore& store) const {
  for (const Order& one : orders_) {
    const auto kept = store.add({bytes(one.patient), bytes(one.number), one.day, bytes(one.text)});
    if (!kept) return kept.error();
  }
  for (const Answer& one : answers_) {
    Status kept = store.add_answer(
        {bytes(one.sender), bytes(one.control), bytes(one.digest), one.at, bytes(one.answer)});
    if (!kept) return kept;
  }
  return Done{};
}

WriteBehindStore::~WriteBehindStore() {
  {
    const std::lock_guard lock(lock_);
    stopping_ = true;
  }
  changed_.notify_all();
  if (thread_.joinable()) thread_.join();
}

void WriteBehindStore::run() {
  std::unique_lock lock(lock_);
  while (true) {
    changed_.wait(lock, [this] { return stopping_ || flight_ == Flight::UnderWay; });
    if (flight_ != Flight::UnderWay) return;
    lock.unlock();
    Status outcome = write_flight();
    lock.lock();
    outcome_ = std::move(outcome);
    flight_ = Flight::Ended;
    const std::function<void()> ended = std::move(ended_);
    lock.unlock();
    changed_.notify_all();
    ended();
    lock.lock();
  }
}

Status WriteBehindStore::write_flight() {
  try {
    Status done = behind_->begin({});
    if (done) done = under_way_.write(*behind_);
    if (done) done = behind_->commit();
    if (!done) behind_->roll_back();
    return done;
  } catch (const std::exception&) {  // no memory
    behind_->roll_back();
    return engine::Error{engine::Errc::Internal, "no memory left"};  // takes none itself
  }
}

bool WriteBehindStore::start_thread() {
  if (thread_.joinable()) return true;
  try {
    thread_ = std::thread([this] { run(); });
  } catch (const std::system_error&) {  // no more threads
    return false;
  }
  return true;
}

bool WriteBehindStore::hand_over(const std::function<void()>& ended) {
  const std::lock_guard lock(lock_);
  if (is_direct_ || open_.empty() || flight_ != Flight::None || !start_thread()) return false;
  ended_ = ended;  // before the turn changes hands: there may be no memory for it
  std::swap(open_, under_way_);
  flight_ = Flight::UnderWay;
  changed_.notify_all();
  return true;
}

Status WriteBehindStore::reach() {
  std::unique_lock lock(lock_);
  changed_.wait(lock, [this] { return flight_ != Flight::UnderWay; });
  return outcome_;
}

Status WriteBehindStore::settle() {
  std::unique_lock lock(lock_);
  changed_.wait(lock, [this] { return flight_ != Flight::UnderWay; });
  flight_ = Flight::None;
  under_way_.clear();
  return std::exchange(outcome_, Done{});
}

Status WriteBehindStore::go_direct() {
  if (is_direct_) return Done{};
  Status done = reach();
  if (done) done = behind_->begin({});
  if (!done) return done;
  is_direct_ = true;
  done = open_.write(*behind_);
  open_.clear();
  return done;
}

Status WriteBehindStore::commit() {
  if (!is_direct_ && open_.empty()) return Done{};
  Status done = go_direct();
  if (done) done = behind_->commit();
  if (done) is_direct_ = false;
  return done;
}

void WriteBehindStore::roll_back() {
  (void)reach();
  if (std::exchange(is_direct_, false)) behind_->roll_back();
  open_.clear();
}

Status WriteBehindStore::read(std::span<const Wanted> wanted, const UseOrder& use,
                              const UseMerge& use_merge) {
  const bool noted = std::ranges::any_of(
      wanted, [this](const Wanted& one) { return open_.has_order_of(one.patient); });
  Status done = noted ? go_direct() : reach();
  return done ? behind_->read(wanted, use, use_merge) : done;
}

Status WriteBehindStore::each(std::string_view patient, const UseOrder& use) {
  Status done = reach();
  return done ? behind_->each(patient, use) : done;
}

Status WriteBehindStore::each_merge(const UseMerge& use) {
  Status done = reach();
  return done ? behind_->each_merge(use) : done;
}

/// Of what is only noted the receipt is not known; nobody reads on from it, as nobody else writes.
engine::Result<std::int64_t> WriteBehindStore::add(const StoredOrder& order) {
  if (is_direct_) return behind_->add(order);
  open_.add(order);
  return std::int64_t{0};
}

Status WriteBehindStore::merge(std::string_view former, std::string_view patient) {
  Status done = go_direct();
  return done ? behind_->merge(former, patient) : done;
}

Status WriteBehindStore::load_ids() {
  if (ids_loaded_) return Done{};
  Status done = reach();
  if (done) {
    done = behind_->each_answered(
        [this](const MessageId& id, double at) { ids_.add(hash_of(id.sender, id.control), at); });
  }
  ids_loaded_ = done.has_value();
  if (!ids_loaded_) ids_.clear();
  return done;
}

engine::Result<std::optional<KeptAnswer>> WriteBehindStore::answer_to(std::string_view sender,
                                                                      std::string_view control,
                                                                      double oldest) {
  Status done = load_ids();
  if (!done) return done.error();
  if (!ids_.may_have(hash_of(sender, control))) return std::optional<KeptAnswer>();
  std::optional<KeptAnswer> noted = open_.answer_to(sender, control);
  if (!noted) noted = under_way_.answer_to(sender, control);
  if (noted) return noted->at >= oldest ? noted : std::nullopt;
  done = reach();
  if (!done) return done.error();
  return behind_->answer_to(sender, control, oldest);
}

Status WriteBehindStore::add_answer(const KeptAnswer& answer) {
  Status done = load_ids();
  if (!done) return done;
  ids_.add(hash_of(answer.sender, answer.control), answer.at);
  if (is_direct_) return behind_->add_answer(answer);
  open_.add(answer);
  return Done{};
}

Status WriteBehindStore::each_answered(const UseAnswered& use) {
  Status done = reach();
  return done ? behind_->each_answered(use) : done;
}

Status WriteBehindStore::drop_answers(double oldest) {
  Status done = reach();
  if (done) done = behind_->drop_answers(oldest);
  if (done) ids_.drop(oldest);
  return done;
}

engine::Result<std::optional<std::int64_t>> WriteBehindStore::since() {
  Status done = reach();
  if (!done) return done.error();
  return behind_->since();
}

Status WriteBehindStore::set_since(std::int64_t day) {
  Status done = go_direct();
  return done ? behind_->set_since(day) : done;
}

engine::Result<std::uint64_t> WriteBehindStore::prune(std::int64_t day) {
  Status done = reach();
  if (!done) return done.error();
  return behind_->prune(day);
}

engine::Result<StoreSize> WriteBehindStore::size() {
  Status done = reach();
  if (!done) return done.error();
  return behind_->size();
}

}  // namespace meniscus::adapters
