// A store in front of another one: turns can be brought to the disk by a thread of its own, while
// the next turn is being judged.
//
//   WriteBehindStore store(std::move(sqlite));
//   store.begin({});  store.add(...);  store.add_answer(...);
//   if (store.hand_over([] { ... }))        // called by the other thread when it is through
//     ... the next turn begins, add(), answer_to(), ...
//   store.settle();                          // which turns that were handed over are kept
//
// Behind:   never shared with other programs (OrderStore::is_shared): what a turn adds is noted in
//           memory and written when the turn ends, in one go.  Turns are written in their order;
//           those that are handed over during a commit share the next one.
// Sees:     what was committed, what was handed over, and what the open turn has added.
// Waits:    for all that was handed over, where the store behind is asked for something: a
//           patient's orders, an answer to an id that may have come before.  Ids that did not come
//           before are known from memory (RecentIds), which is filled when the first is asked for.
// Direct:   a turn with a merge, or with a patient whose orders were only noted, is written as it
//           goes, and cannot be handed over.
// Failed:   turns that fail are rolled back; those that were handed over behind them are not
//           written, and the open one has to be given up too.  Until settle() has said so, all that
//           needs the store behind gives the error.
// Threads:  one at a time; the store's own calls `ended`, which does not throw.
#pragma once

#include <condition_variable>
#include <functional>
#include <list>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "adapters/history/order_store.hpp"
#include "adapters/history/recent_ids.hpp"

namespace meniscus::adapters {

class WriteBehindStore final : public OrderStore {
 public:
  /// `behind` is not shared.
  explicit WriteBehindStore(std::unique_ptr<OrderStore> behind) : behind_(std::move(behind)) {}
  /// Waits for what was handed over.
  ~WriteBehindStore() override;

  [[nodiscard]] bool is_shared() const override { return false; }
  engine::Status begin(std::span<const std::string_view> /*patients*/) override {
    return engine::Done{};
  }
  engine::Status commit() override;
  bool hand_over(const std::function<void()>& ended) override;
  engine::Result<std::size_t> settle() override;
  void roll_back() override;
  engine::Status read(std::span<const Wanted> wanted, const UseOrder& use,
                      const UseMerge& use_merge) override;
  engine::Status each(std::string_view patient, const UseOrder& use) override;
  engine::Status each_merge(const UseMerge& use) override;
  engine::Result<std::int64_t> add(const StoredOrder& order) override;
  engine::Status merge(std::string_view former, std::string_view patient) override;
  engine::Status expect(std::span<const MessageId> /*messages*/, double /*oldest*/) override {
    return engine::Done{};
  }
  engine::Result<std::optional<KeptAnswer>> answer_to(std::string_view sender,
                                                      std::string_view control,
                                                      double oldest) override;
  engine::Status add_answer(const KeptAnswer& answer) override;
  engine::Status each_answered(const UseAnswered& use) override;
  engine::Status drop_answers(double oldest) override;
  [[nodiscard]] engine::Result<std::optional<std::int64_t>> since() override;
  engine::Status set_since(std::int64_t day) override;
  engine::Result<std::uint64_t> prune(std::int64_t day) override;
  [[nodiscard]] engine::Result<StoreSize> size() override;

 private:
  /// What a turn adds, as bytes in one piece; kept and used again.
  class Additions {
   public:
    void add(const StoredOrder& order);
    void add(const KeptAnswer& answer);
    void clear();
    [[nodiscard]] bool empty() const { return orders_.empty() && answers_.empty(); }
    [[nodiscard]] bool has_order_of(std::string_view patient) const;
    [[nodiscard]] std::optional<KeptAnswer> answer_to(std::string_view sender,
                                                      std::string_view control) const;
    engine::Status write(OrderStore& store) const;

   private:
    struct Part {
      std::size_t at = 0;
      std::size_t size = 0;
    };
    struct Order {
      Part patient, number, text;
      std::int64_t day = 0;
    };
    struct Answer {
      Part sender, control, digest, answer;
      double at = 0;
    };
    Part note(std::string_view bytes);
    [[nodiscard]] std::string_view bytes(const Part& part) const {
      return std::string_view(bytes_).substr(part.at, part.size);
    }
    std::string bytes_;
    std::vector<Order> orders_;
    std::vector<Answer> answers_;
  };

  struct Turn {
    Additions additions;
    std::function<void()> ended;
  };

  /// Waits for what was handed over.  Errors: it failed.
  engine::Status reach();
  std::optional<KeptAnswer> handed_answer_to(std::string_view sender, std::string_view control);
  /// What the open turn has noted goes to the store behind, and what it will add.
  engine::Status go_direct();
  engine::Status load_ids();
  bool start_thread();
  void run();
  engine::Status write_turns();

  std::unique_ptr<OrderStore> behind_;  // the thread's while turns are under way
  Additions open_;
  std::list<Turn> spare_;  // for turns to come
  bool is_direct_ = false;
  RecentIds ids_;
  bool ids_loaded_ = false;

  std::mutex lock_;  // of what follows
  std::condition_variable changed_;
  // Turns that were handed over, in their order from the last list to the first.  Those under way
  // are read by both, and written by none.
  std::list<Turn> waiting_, under_way_, kept_;
  engine::Status outcome_ = engine::Done{};  // an error: no more are taken until settle() says so
  bool stopping_ = false;
  std::thread thread_;  // from the first turn that is handed over
};

}  // namespace meniscus::adapters
