// Orders that came before (contract: known_orders.hpp).
#include "engine/eval/known_orders.hpp"

#include <algorithm>
#include <utility>

namespace meniscus::engine {

KnownOrders::KnownOrders(const Program& program, Columns& columns, Variation& variation,
                         const FieldSet& never, RunScratch& scratch)
    : program_(program),
      variation_(variation),
      paths_(program, columns, variation, never, scratch),
      to_run_(program.rules.size()),
      with_result_((program.rules.size() + 63) / 64),
      fixed_(program.rules.size()) {}

void KnownOrders::start(const OrderBlock& block, Lanes lanes,
                        std::span<const std::uint32_t> rules) {
  paths_.begin(block);
  rules_ = rules;
  lanes_ = lanes;
  ++turn_;
  group_count_ = 0;
  known_ = to_learn_ = 0;
  wide_ = block.size() > kFew;
  rests_ = rest_ > 0 && wide_;
  if (rests_) --rest_;
  if (orders_.size() + kLanes <= kMost) return;
  orders_.clear();
  numbers_.clear();
  paths_.forget();
}

void KnownOrders::find(unsigned lane, const OrderKey& key) {
  const Lanes bit = Lanes{1} << lane;
  const std::uint32_t* const number = numbers_.find(key.first | 1U);
  if (number == nullptr || orders_[*number - 1].key != key) {
    if (number == nullptr && seen_before(key)) {
      to_learn_ |= bit;
      keys_[lane] = key;
    }
    return;
  }
  known_ |= bit;
  Order& order = orders_[*number - 1];
  if (order.turn != turn_) {
    order.turn = turn_;
    order.group = static_cast<std::uint32_t>(group_count_);
    groups_[group_count_++] = {*number - 1, 0, 0, 0};
  }
  groups_[order.group].lanes |= bit;
}

bool KnownOrders::seen_before(const OrderKey& key) {
  std::uint64_t& seen = seen_once_[key.first % kMost];
  if (seen == key.second) return true;
  seen = key.second;
  return false;
}

/// Tells each rule its lanes, and puts the groups with results first.
void KnownOrders::spread() {
  for (const std::uint32_t rule : rules_)
    to_run_[rule] = lanes_ & ~known_;
  with_results_ = 0;
  if (!rests_ && wide_ && count(lanes_ & ~known_) > count(lanes_) / 16) rest_ = kRest;
  by_paths_ = !wide_ || group_count_ <= count(known_) / 8;
  if (group_count_ == 0) return;
  std::fill(with_result_.begin(), with_result_.end(), 0);
  for (std::size_t i = 0; i < group_count_; ++i) {
    const Order& order = orders_[groups_[i].order];
    for (std::size_t word = 0; word < order.open.size(); ++word) {
      each_lane(order.open[word],
                [&](unsigned bit) { to_run_[word * 64 + bit] |= groups_[i].lanes; });
      with_result_[word] |= order.results[word];
    }
    if (order.hits.empty() && order.undecided.empty()) continue;
    std::swap(groups_[i], groups_[with_results_++]);
  }
}

void KnownOrders::run_by_paths(std::uint32_t rule, RunResult& out) {
  const Lanes all = to_run_[rule] & known_;
  for (std::size_t i = 0; i < group_count_; ++i) {
    const Group& group = groups_[i];
    if (!test(orders_[group.order].open, rule)) continue;
    const Lanes left = group.lanes & ~paths_.follow(group.order, rule, group.lanes, all, out);
    if (left != 0) paths_.run(group.order, rule, left, out);
  }
}

void KnownOrders::add_concerned(std::uint32_t rule, std::vector<Lanes>& concerned) const {
  for (std::size_t i = 0; i < group_count_; ++i) {
    if (test(orders_[groups_[i].order].concerned, rule)) concerned[rule] |= groups_[i].lanes;
  }
}

void KnownOrders::add_results(std::uint32_t rule, RunResult& out) {
  for (std::size_t i = 0; i < with_results_; ++i) {
    Group& group = groups_[i];
    const Order& order = orders_[group.order];
    for (; group.next_hit < order.hits.size() && order.hits[group.next_hit].rule == rule;
         ++group.next_hit) {
      out.hits.push_back(order.hits[group.next_hit]);
      out.hits.back().lanes = group.lanes;
    }
    for (; group.next_undecided < order.undecided.size() &&
           order.undecided[group.next_undecided].rule == rule;
         ++group.next_undecided) {
      out.undecided.push_back(order.undecided[group.next_undecided]);
      out.undecided.back().cause.lanes = group.lanes;
    }
  }
}

void KnownOrders::learn(const RunResult& result) {
  if (to_learn_ == 0) return;
  for (const std::uint32_t rule : rules_)
    fixed_[rule] = variation_.fixed(program_.rules[rule], to_learn_);
  each_lane(to_learn_, [&](unsigned lane) { learn_lane(lane, result); });
}

void KnownOrders::learn_lane(unsigned lane, const RunResult& result) {
  std::uint32_t& number = numbers_.find_or_add(keys_[lane].first | 1U);
  if (number != 0) return;  // another lane of the block has said the same
  const Lanes bit = Lanes{1} << lane;
  const std::size_t words = (program_.rules.size() + 63) / 64;
  Order& order = orders_.emplace_back();
  number = static_cast<std::uint32_t>(orders_.size());
  order.key = keys_[lane];
  order.open.assign(words, 0);
  order.concerned.assign(words, 0);
  order.results.assign(words, 0);
  for (const std::uint32_t rule : rules_) {
    if ((fixed_[rule].lanes & bit) == 0) set(order.open, rule);
    if ((fixed_[rule].concerned & bit) != 0) set(order.concerned, rule);
  }
  for (const Hit& hit : result.hits) {
    if ((hit.lanes & bit) == 0 || test(order.open, hit.rule)) continue;
    order.hits.push_back(hit);
    set(order.results, hit.rule);
  }
  for (const Undecided& undecided : result.undecided) {
    if ((undecided.cause.lanes & bit) == 0 || test(order.open, undecided.rule)) continue;
    order.undecided.push_back(undecided);
    set(order.results, undecided.rule);
  }
}

}  // namespace meniscus::engine
