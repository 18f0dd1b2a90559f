// What rules came to for orders that say the same, so that it need not be worked out again: a
// clinic has few kinds of orders, and the same ones come all day.
//
//   known.begin(block, lanes, rules, key_of);
//   for (rule : rules) {
//     run(rule, known.to_run(rule, result));  // lanes of which it is not known
//     known.add_known(rule, result);          // and what is known of the others
//   }
//   known.learn(result);
//
// Learns:  an order that comes the second time.  Of it is kept what each rule does that would do
//          the same for every order of its key (variation.hpp).  The other rules are run each time;
//          where lanes or keys are few, only as far as they depend on what differs
//          (known_paths.hpp).
// Rests:   over many lanes a rule costs little a lane, and a few lanes of which nothing is known
//          cost nearly what all do; where blocks are such, most of them are not looked at.
// Order:   for each lane, results stand as they would have without this.
// Bounded: kMost keys; then all are forgotten.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "engine/base/flat_map.hpp"
#include "engine/eval/known_paths.hpp"
#include "engine/eval/order_keys.hpp"
#include "engine/eval/rule_run.hpp"
#include "engine/eval/variation.hpp"

namespace meniscus::engine {

class KnownOrders {
 public:
  /// The arguments must outlive this.
  KnownOrders(const Program& program, Columns& columns, Variation& variation, const FieldSet& never,
              RunScratch& scratch);

  /// `lanes`: of the block, maybe a stretch of it.  `key_of(lane)`: the order's key.
  template <class KeyOf>
  void begin(const OrderBlock& block, Lanes lanes, std::span<const std::uint32_t> rules,
             KeyOf&& key_of) {
    start(block, lanes, rules);
    if (!rests_) each_lane(lanes, [&](unsigned lane) { find(lane, key_of(lane)); });
    spread();
  }

  /// The lanes that `rule` is still to be run for; adds what can be said of others without it.
  [[nodiscard]] Lanes to_run(std::uint32_t rule, RunResult& out) {
    if (!by_paths_ || (to_run_[rule] & known_) == 0) return to_run_[rule];
    run_by_paths(rule, out);
    return to_run_[rule] & ~known_;
  }

  void add_known(std::uint32_t rule, RunResult& out) {
    if (out.concerned != nullptr) add_concerned(rule, *out.concerned);
    if (with_results_ != 0 && test(with_result_, rule)) add_results(rule, out);
  }

  /// After all rules have run.
  void learn(const RunResult& result);

 private:
  static constexpr std::size_t kMost = 4096;
  static constexpr unsigned kFew = 16;   // lanes
  static constexpr unsigned kRest = 15;  // blocks of more

  using Bits = std::vector<std::uint64_t>;  // by rule
  static bool test(const Bits& bits, std::uint32_t rule) {
    return (bits[rule / 64] >> rule % 64 & 1U) != 0;
  }
  static void set(Bits& bits, std::uint32_t rule) {
    bits[rule / 64] |= std::uint64_t{1} << rule % 64;
  }

  struct Order {
    OrderKey key;
    Bits open;       // rules that have to be run
    Bits concerned;  // rules that are not, and that it is about
    Bits results;    // rules that are not, and that found something
    std::vector<Hit> hits;
    std::vector<Undecided> undecided;
    // Of the block that is judged.
    std::uint64_t turn = 0;
    std::uint32_t group = 0;
  };
  /// Lanes of one order of the block.
  struct Group {
    std::uint32_t order = 0;
    Lanes lanes = 0;
    std::size_t next_hit = 0;
    std::size_t next_undecided = 0;
  };

  void start(const OrderBlock& block, Lanes lanes, std::span<const std::uint32_t> rules);
  void run_by_paths(std::uint32_t rule, RunResult& out);
  void find(unsigned lane, const OrderKey& key);
  void spread();
  void add_concerned(std::uint32_t rule, std::vector<Lanes>& concerned) const;
  void add_results(std::uint32_t rule, RunResult& out);
  bool seen_before(const OrderKey& key);
  void learn_lane(unsigned lane, const RunResult& result);

  const Program& program_;
  Variation& variation_;
  KnownPaths paths_;
  std::vector<Order> orders_;
  FlatMap<std::uint32_t> numbers_;                // by key: 1 + index in orders_
  std::array<std::uint64_t, kMost> seen_once_{};  // by hash
  std::span<const std::uint32_t> rules_;
  Lanes lanes_ = 0;
  std::uint64_t turn_ = 0;
  std::vector<Lanes> to_run_;  // by rule
  std::array<Group, kLanes> groups_;
  std::size_t group_count_ = 0;
  std::size_t with_results_ = 0;  // groups, the first ones
  Bits with_result_;              // rules of which one of them has a result
  unsigned rest_ = 0;             // blocks of many lanes, or stretches, that are not looked at
  bool wide_ = false;             // this block has many
  bool rests_ = false;            // this block is one
  bool by_paths_ = false;         // few orders, or few lanes
  Lanes known_ = 0;
  Lanes to_learn_ = 0;
  std::array<OrderKey, kLanes> keys_;    // of the lanes to learn
  std::vector<Variation::Fixed> fixed_;  // by rule, of the lanes to learn
};

}  // namespace meniscus::engine
