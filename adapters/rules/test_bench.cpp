// Contract: see test_bench.hpp.
#include "adapters/rules/test_bench.hpp"

#include <algorithm>

#include "adapters/rules/example_orders.hpp"

namespace meniscus::adapters {

namespace {
using engine::Action;
using engine::FieldId;
using engine::OrderBlock;

/// The records of a test's earlier lines; the checker knows what each means for history.
void remember(engine::Checker& checker, const ExampleOrders& orders, const engine::Example& test,
              engine::History& history) {
  OrderBlock block;
  const auto flush = [&] {
    checker.remember(block, history);
    block.clear();
  };
  for (std::size_t i = 0; i < test.earlier.size(); ++i) {
    if (block.full()) flush();
    orders.add(block, test.earlier[i], block.keep("earlier-" + std::to_string(i + 1)), true);
  }
  flush();
}
}  // namespace

TestBench::TestBench(const std::shared_ptr<const engine::Program>& program, const Tests& tests)
    : tests_(tests) {
  engine::Checker checker(program, {});
  for (const engine::Example* test : tests_)
    add(*program, *test, checker);
}

void TestBench::add(const engine::Program& program, const engine::Example& test,
                    engine::Checker& checker) {
  const ExampleOrders orders(program);
  if (blocks_.empty() || blocks_.back().full()) blocks_.emplace_back();
  OrderBlock& block = blocks_.back();
  const engine::Days days{test.as_of, day_of(test)};
  orders.add(block, test.order, "example", !test.earlier.empty());
  const unsigned lane = block.size() - 1;
  engine::OrderFacts facts = engine::facts_of(block, lane, days);
  if (!test.earlier.empty()) {
    engine::History& history =
        histories_.emplace_back(program.look_back, program.history_fields, program.history_written);
    checker.set_days(days);
    remember(checker, orders, test, history);
    const engine::Value patient = block.value(lane, FieldId::PatientId);
    if (patient.known()) facts.records = &history.of(patient.aux);
  }
  const Action action = engine::action_of(block, lane);
  judged_.push_back(block.record(lane).kind == engine::RecordKind::Order &&
                    (action == Action::New || action == Action::Change));
  facts_.push_back(facts);
  days_.push_back(days);
}

bool TestBench::doubtful(std::size_t i) const {
  const auto& doubts = facts_[i].block->doubts();
  return std::any_of(doubts.begin(), doubts.end(),
                     [&](const engine::Doubt& doubt) { return doubt.lane == facts_[i].lane; });
}

}  // namespace meniscus::adapters
