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
    const auto has_some = [this] { return outcome_ && !waiting_.empty(); };
    changed_.wait(lock, [&] { return stopping_ || has_some(); });
    if (!has_some()) return;
    under_way_.splice(under_way_.end(), waiting_);
    lock.unlock();
    Status outcome = write_turns();
    lock.lock();
    const std::function<void()> ended = std::move(under_way_.back().ended);
    outcome_ = std::move(outcome);
    if (outcome_) kept_.splice(kept_.end(), under_way_);
    lock.unlock();
    changed_.notify_all();
    ended();
    lock.lock();
  }
}

Status WriteBehindStore::write_turns() {
  try {
    Status done = behind_->begin({});
    for (const Turn& turn : under_way_)
      if (done) done = turn.additions.write(*behind_);
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
  if (is_direct_ || !start_thread()) return false;
  if (spare_.empty()) spare_.emplace_back();
  spare_.front().ended = ended;  // before the turn changes hands: there may be no memory for it
  const std::lock_guard lock(lock_);
  // What answers said before may rest on turns that are not kept yet.
  if (open_.empty() && waiting_.empty() && under_way_.empty() && kept_.empty()) return false;
  std::swap(open_, spare_.front().additions);
  waiting_.splice(waiting_.end(), spare_, spare_.begin());
  changed_.notify_all();
  return true;
}

Status WriteBehindStore::reach() {
  std::unique_lock lock(lock_);
  changed_.wait(lock, [this] { return !outcome_ || (waiting_.empty() && under_way_.empty()); });
  return outcome_;
}

engine::Result<std::size_t> WriteBehindStore::settle() {
  std::unique_lock lock(lock_);
  changed_.wait(lock, [this] {
    return !outcome_ || !kept_.empty() || (waiting_.empty() && under_way_.empty());
  });
  const auto ended = spare_.begin();
  const std::size_t count = kept_.size();
  Status outcome = Done{};
  spare_.splice(ended, kept_);
  if (count == 0) {
    spare_.splice(ended, under_way_);
    spare_.splice(ended, waiting_);
    outcome = std::exchange(outcome_, Done{});
  }
  std::for_each(spare_.begin(), ended, [](Turn& turn) { turn.additions.clear(); });
  if (!outcome) return outcome.error();
  return count;
}

std::optional<KeptAnswer> WriteBehindStore::handed_answer_to(std::string_view sender,
                                                             std::string_view control) {
  const std::lock_guard lock(lock_);
  for (const std::list<Turn>* turns : {&waiting_, &under_way_, &kept_}) {
    for (auto turn = turns->rbegin(); turn != turns->rend(); ++turn) {
      std::optional<KeptAnswer> said = turn->additions.answer_to(sender, control);
      if (said) return said;
    }
  }
  return std::nullopt;
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
  if (!noted) noted = handed_answer_to(sender, control);
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
