// The history of earlier runs: a patient's is read when the patient comes, and added to.
//
//   auto kept = KeptHistory::open("sqlite:/var/lib/meniscus/history.db");
//   (*kept)->load(program, today, history);
//   while (source.next(block)) {
//     if (!(*kept)->keep(block, days, history)) stop();   // what is answered is on the disk
//     checker.check(block, history, report);
//   }
//
// or, where several blocks share one commit and nothing is answered before it:
//
//   (*kept)->add(block, days, history);  checker.check(block, history, hold);  ...
//   if ((*kept)->commit(history)) send(held); else refuse(held);
//
// or, where the next turn is judged while one is brought to the disk:
//
//   if ((*kept)->hand_over(landed)) ...       // the next turn: add(), check() and hold others
//   if ((*kept)->settle(history)) send(held); else refuse(held), refuse(others);
//
// Whole:    a store has every order from its first day on; before that day it knows nothing, and
//           rules that look further back are not assessed (History::set_since).
// Refused:  errors are of code Input.  What was added since the last commit() is then not kept, and
//           `history` has forgotten it: those patients are read again when they come again.  After
//           an error of begin(), add(), answer_to() or add_answer() only roll_back() follows.
// Memory:   of at most kMostPatients patients; then all are forgotten, and read again as they come.
// Shared:   a store that several programs write to is asked for news of each patient in each turn.
#pragma once

#include <cstdint>
#include <functional>
#include <list>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include "adapters/history/order_store.hpp"
#include "adapters/history/stored_order.hpp"
#include "engine/base/flat_map.hpp"
#include "engine/eval/checker.hpp"
#include "engine/eval/facts.hpp"
#include "engine/history/history.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

/// Opens a store; one that is this program's alone is a WriteBehindStore.  `place`: `sqlite:PATH`,
/// or `postgresql:` and an address as PostgresStore takes it.  Errors: Usage when it is of no known
/// kind; Input.
engine::Result<std::unique_ptr<OrderStore>> open_store(const std::string& place);

/// History without a store: it begins with the first order of a patient, and nothing before that
/// day is known.
void begin_history(const engine::OrderBlock& block, const engine::Days& days,
                   engine::History& history);

/// By somebody's word everything is known since `day`, if it was not known for longer.
void know_since(std::optional<std::int64_t> day, engine::History& history);

class KeptHistory {
 public:
  static constexpr std::size_t kMostPatients = 200'000;

  explicit KeptHistory(std::unique_ptr<OrderStore> store) : store_(std::move(store)) {}
  static engine::Result<std::unique_ptr<KeptHistory>> open(const std::string& place);

  /// Before the first order, and again before other rules: says in `history` since when it is whole
  /// and which patients are one.  `today`: the host's day, since 1970-01-01.
  engine::Status load(std::shared_ptr<const engine::Program> program, std::int64_t today,
                      engine::History& history);

  /// Turns should begin with all their patients.
  [[nodiscard]] bool looks_ahead() const { return store_->is_shared(); }
  /// Begins a turn with these patients.
  engine::Status begin(const std::vector<std::string>& patients, engine::History& history);

  /// Adds the orders of a block to what commit() will keep; reads first what was kept of their
  /// patients.  Orders without a patient cannot be found again and are not kept.  With the first
  /// order of all, `history` begins; an order that was kept before, and is sent again, is taken out
  /// of it, to be judged as it was then.
  engine::Status add(const engine::OrderBlock& block, const engine::Days& days,
                     engine::History& history);
  /// Of the block that was added last: the lanes whose orders were kept before, just as they are.
  [[nodiscard]] const std::vector<unsigned>& kept_before() const { return again_; }
  engine::Status commit(engine::History& history);
  void roll_back(engine::History& history);

  /// commit() beside the next turns: `landed`, which does not throw, is called by another thread
  /// when the turn is on the disk or has failed; where several land together, that of the last one.
  /// False: not this turn; commit() it.
  bool hand_over(const std::function<void()>& landed);
  /// Waits until some of the turns that were handed over are kept, the first ones, and gives their
  /// number; 0: there are none.  Errors: nothing of those that are left is kept, and the open turn,
  /// which builds on them, was rolled back too.
  engine::Result<std::size_t> settle(engine::History& history);

  /// add() and commit().
  engine::Status keep(const engine::OrderBlock& block, const engine::Days& days,
                      engine::History& history);

  /// What a message was answered with; begins a turn where none is open.
  engine::Result<std::optional<KeptAnswer>> answer_to(std::string_view sender,
                                                      std::string_view control, double oldest);
  /// It will be asked for the answers to these; begins a turn where none is open.
  engine::Status expect(std::span<const OrderStore::MessageId> messages, double oldest);
  engine::Status add_answer(const KeptAnswer& answer) { return store_->add_answer(answer); }
  /// Between turns: drops the orders for days before `day`; gives their number.
  engine::Result<std::uint64_t> prune(std::int64_t day) { return store_->prune(day); }
  /// Between turns: whether the store answers.
  engine::Status reach();
  /// Between turns: whether the store keeps what is written to it.  It keeps an answer to no
  /// message, which goes with the old ones.
  engine::Status try_to_keep();
  engine::Status drop_answers(double oldest) { return store_->drop_answers(oldest); }

 private:
  /// What is known of a patient whose orders were read.
  struct Known {
    std::int64_t receipt = 0;  // the last one
    // By the hash of an order's number, the hash of its last text: what comes again as it was.
    std::vector<std::pair<std::uint64_t, std::uint64_t>> last;
  };

  engine::Status load_merges(engine::History& history);
  engine::Status ask_since(engine::History& history);
  [[nodiscard]] const std::string& standing(const std::string& patient) const;
  void learn_merge(std::string_view former, std::string_view patient, engine::History& history);
  engine::Status read(const std::vector<std::string>& patients, engine::History& history);
  void remember(engine::History& history);
  [[nodiscard]] bool is_up_to_date(const std::string& patient) const;
  /// Sets what was the last text of an order; true when it was this one already.
  static bool same_as_last(Known& known, std::string_view number, std::string_view text);
  engine::Status add_order(const engine::OrderBlock& block, unsigned lane,
                           const engine::Days& days);
  engine::Status add_merge(const engine::OrderBlock& block, unsigned lane);
  void forget(const std::string& patient, engine::History& history);
  void start_over(engine::History& history);

  std::unique_ptr<OrderStore> store_;
  std::shared_ptr<const engine::Program> program_;
  std::optional<engine::Checker> reader_;  // puts what was kept into history
  engine::OrderBlock block_;               // of what was kept
  engine::FlatMap<Known> known_;           // by the word of the id that a patient stands under
  std::unordered_map<std::string, std::string> merged_;
  bool merges_loaded_ = false;
  bool has_since_ = false;                      // the store knows since when it is whole
  std::vector<std::string> turn_;               // patients of the turn: theirs alone, and read
  std::list<std::vector<std::string>> flying_;  // of those that were handed over, turn by turn
  std::vector<std::pair<std::string, std::string>> turn_merges_;  // former id, patient
  StoredOrderWriter writer_;
  std::string text_;
  std::vector<unsigned> again_;  // lanes whose orders were kept before
};

}  // namespace meniscus::adapters
