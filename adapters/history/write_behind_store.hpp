// A store in front of another one: a turn can be brought to the disk by a thread of its own, while
// the next turn is being judged.
//
//   WriteBehindStore store(std::move(sqlite));
//   store.begin({});  store.add(...);  store.add_answer(...);
//   if (store.hand_over([] { ... }))        // called by the other thread when it is through
//     ... the next turn begins, add(), answer_to(), ...
//   store.settle();                          // whether the turn that was handed over is kept
//
// Behind:   never shared with other programs (OrderStore::is_shared): what a turn adds is noted in
//           memory and written when the turn ends, in one go.  Turns are written in their order.
// Sees:     what was committed, what is under way, and what the open turn has added.
// Waits:    for the turn under way, where the store behind is asked for something: a patient's
//           orders, an answer to an id that may have come before.  Ids that did not come before are
//           known from memory (RecentIds), which is filled when the first is asked for.
// Direct:   a turn with a merge, or with a patient whose orders were only noted, is written as it
//           goes, and cannot be handed over.
// Failed:   a turn that was handed over and failed is rolled back; what builds on it has to be
//           given up too.  Until settle(), all that needs the store behind gives its error.
// Threads:  one at a time; the store's own calls `ended`, which does not throw.
#pragma once

#include <condition_variable>
#include <functional>
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
  /// Waits for the turn under way.
  ~WriteBehindStore() override;

  [[nodiscard]] bool is_shared() const override { return false; }
  engine::Status begin(std::span<const std::string_view> /*patients*/) override {
    return engine::Done{};
  }
  engine::Status commit() override;
  bool hand_over(const std::function<void()>& ended) override;
  engine::Status settle() override;
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

  enum class Flight : std::uint8_t { None, UnderWay, Ended };

  /// Waits for the turn under way.  Errors: it failed.
  engine::Status reach();
  /// What the open turn has noted goes to the store behind, and what it will add.
  engine::Status go_direct();
  engine::Status load_ids();
  bool start_thread();
  void run();
  engine::Status write_flight();

  std::unique_ptr<OrderStore> behind_;  // the thread's while a turn is under way
  Additions open_;
  Additions under_way_;  // read by both while the turn is under way, written by none
  bool is_direct_ = false;
  RecentIds ids_;
  bool ids_loaded_ = false;

  std::mutex lock_;  // of what follows
  std::condition_variable changed_;
  Flight flight_ = Flight::None;
  engine::Status outcome_ = engine::Done{};
  std::function<void()> ended_;
  bool stopping_ = false;
  std::thread thread_;  // from the first turn that is handed over
};

}  // namespace meniscus::adapters
