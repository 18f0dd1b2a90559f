// Where the orders of earlier runs are kept: one interface, a file or a database behind it.
//
//   store->begin({"SM-0012"});                 // a turn: these patients' orders are ours alone
//   store->read({{"SM-0012", 0}}, use);        // what was kept of them
//   store->add({patient, number, day, text});
//   store->commit();                           // all of the turn is on the disk, or none of it
//
// Turn:     begin() to commit() or roll_back().  What a turn has added is on the disk when commit()
//           returns; until then, and after a failure, it leaves no trace.
// Receipt:  counts up as orders are kept; a patient's orders are read in its sequence.
// Merged:   a patient's orders stand under one id.  After a merge those of the former id are kept
//           anew under the other one, with receipts of their own, so that who has read up to some
//           receipt finds them.
// Private:  it holds patients' orders.  Errors name the store and never what is in it.
// Errors:   Input, with the store's name and what the library under it says.  After an error in a
//           turn the turn is over: only roll_back() follows.
// Threads:  one at a time.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "engine/base/result.hpp"

namespace meniscus::adapters {

struct StoredOrder {
  std::string_view patient;
  std::string_view number;  // of the order; empty when it has none
  std::int64_t day = 0;     // that it was judged as of, days since 1970-01-01
  std::string_view text;    // stored_order.hpp
};

/// An order as it comes back.
struct KeptOrder {
  std::int64_t receipt = 0;
  StoredOrder order;
};

/// What a message was answered with, so that the same message gets the same answer.
struct KeptAnswer {
  std::string_view sender;
  std::string_view control;  // its id of the message
  std::string_view digest;   // of what it said, any bytes
  double at = 0;             // seconds since 1970-01-01
  std::string_view answer;
};

struct StoreSize {
  std::uint64_t orders = 0;
  std::uint64_t patients = 0;
  std::uint64_t answers = 0;
  std::uint64_t merges = 0;
};

class OrderStore {
 public:
  using UseOrder = std::function<void(const KeptOrder&)>;
  using UseMerge = std::function<void(std::string_view former, std::string_view patient)>;

  struct Wanted {
    std::string_view patient;
    std::int64_t after = 0;  // the last receipt that is known; 0: all are wanted
  };

  OrderStore() = default;
  OrderStore(const OrderStore&) = delete;
  OrderStore& operator=(const OrderStore&) = delete;
  virtual ~OrderStore() = default;

  /// Others may write to it too: turns begin with all their patients, and what was read before may
  /// be behind.
  [[nodiscard]] virtual bool is_shared() const = 0;

  /// Begins a turn, or adds patients to the one that is open.  Nobody else writes orders of these
  /// patients until it ends.
  virtual engine::Status begin(std::span<const std::string_view> patients) = 0;
  virtual engine::Status commit() = 0;
  virtual void roll_back() = 0;

  /// commit() by a thread of the store's own, beside the next turns: `ended`, which does not throw,
  /// is called there when the turn is on the disk or has failed; where several turns end together,
  /// that of the last one.  False: not this turn; commit() it.
  virtual bool hand_over(const std::function<void()>& /*ended*/) { return false; }
  /// Waits until some of the turns that were handed over have ended, the first ones, and gives
  /// their number; 0: there are none.  Errors: nothing of those that are left is kept, and what was
  /// added to the open turn may build on them.
  virtual engine::Result<std::size_t> settle() { return std::size_t{0}; }

  /// In a turn that began with them: the orders of these patients, a patient's by receipt.  A
  /// shared store first names the merges that they are part of.
  virtual engine::Status read(std::span<const Wanted> wanted, const UseOrder& use,
                              const UseMerge& use_merge) = 0;
  /// All orders by receipt; of one patient where `patient` is not empty.
  virtual engine::Status each(std::string_view patient, const UseOrder& use) = 0;
  /// All merges, each former id once.
  virtual engine::Status each_merge(const UseMerge& use) = 0;

  /// In a turn: keeps an order, and gives its receipt.
  virtual engine::Result<std::int64_t> add(const StoredOrder& order) = 0;
  /// In a turn: `former` is `patient` from now on.
  virtual engine::Status merge(std::string_view former, std::string_view patient) = 0;

  struct MessageId {
    std::string_view sender;
    std::string_view control;
  };
  using UseAnswered = std::function<void(const MessageId& message, double at)>;
  /// In a turn: answer_to() will be asked for these.
  virtual engine::Status expect(std::span<const MessageId> messages, double oldest) = 0;
  /// In a turn: what a message with this id was answered at or after `oldest`.  The texts are good
  /// until the next call.
  virtual engine::Result<std::optional<KeptAnswer>> answer_to(std::string_view sender,
                                                              std::string_view control,
                                                              double oldest) = 0;
  /// In a turn.  Takes the place of a former one with the same id.
  virtual engine::Status add_answer(const KeptAnswer& answer) = 0;
  /// The messages whose answers are kept, and when they were answered; one may come several times.
  virtual engine::Status each_answered(const UseAnswered& use) = 0;
  /// Own turn.  Answers before `oldest` are dropped.
  virtual engine::Status drop_answers(double oldest) = 0;

  /// The day from which on it has every order; none in an empty store.
  [[nodiscard]] virtual engine::Result<std::optional<std::int64_t>> since() = 0;
  /// In a turn: says so; what is said already stays where it is earlier.
  virtual engine::Status set_since(std::int64_t day) = 0;

  /// Own turn.  Drops the orders that were judged as of days before `day`; gives their number.
  virtual engine::Result<std::uint64_t> prune(std::int64_t day) = 0;

  [[nodiscard]] virtual engine::Result<StoreSize> size() = 0;
};

}  // namespace meniscus::adapters
