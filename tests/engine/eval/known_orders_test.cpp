// Orders that differ in dates, ages and ids alone: what is said not to vary does not, node by node,
// and a checker that knows such orders says what a new one says.
//
// Checked against the columns and a new checker, on random programs; with the shipped rules and
// histories: tests/year/remembered_test.cpp.
#include <gtest/gtest.h>

#include <array>
#include <memory>
#include <string>
#include <vector>

#include "engine/eval/checker.hpp"
#include "engine/eval/columns.hpp"
#include "engine/eval/facts.hpp"
#include "engine/eval/order_keys.hpp"
#include "engine/eval/variation.hpp"
#include "tests/engine/eval/cells.hpp"
#include "tests/engine/eval/random_program.hpp"

namespace meniscus::engine {
namespace {

using testing::state_at;
using testing::truth_at;

/// A block, its facts and its columns.
struct Judged {
  explicit Judged(const Program& program) : scalar(program), columns(program, scalar) {}

  void begin(std::int64_t day) {
    for (unsigned lane = 0; lane < kLanes; ++lane) {
      facts.at(lane).block = &block;
      facts.at(lane).lane = lane;
      facts.at(lane).today = Value::date({.seconds = 86400 * day});
      facts.at(lane).planned_day = facts.at(lane).today;
    }
    columns.begin(block, facts);
  }

  OrderBlock block;
  std::array<OrderFacts, kLanes> facts;
  Scalar scalar;
  Columns columns;
};

class OrdersOfOneKey : public ::testing::TestWithParam<std::uint32_t> {};

/// A node in one lane of two orders of one key.
void expect_same(Judged& one, Judged& other, const Program& program, NodeId id, unsigned lane,
                 bool value_too) {
  const Lanes bit = Lanes{1} << lane;
  if (program.nodes[id].type == Type::Truth) {
    if (!value_too) return;
    EXPECT_EQ(truth_at(one.columns.truth(id, bit), lane),
              truth_at(other.columns.truth(id, bit), lane))
        << "node " << id << " lane " << lane << "\n"
        << print(program);
    return;
  }
  const ValueView a = one.columns.value(id, bit);
  const ValueView b = other.columns.value(id, bit);
  EXPECT_EQ(state_at(a, lane), state_at(b, lane)) << "node " << id << " lane " << lane << "\n"
                                                  << print(program);
  if (!value_too || (a.known & bit) == 0) return;
  EXPECT_EQ(a.number[lane], b.number[lane]) << "node " << id << " lane " << lane;
  EXPECT_EQ(a.aux[lane], b.aux[lane]) << "node " << id << " lane " << lane;
}

void expect_equal_keys(const Program& program, const OrderBlock& one, const OrderBlock& other) {
  OrderKeys first(program);
  OrderKeys second(program);
  first.begin(one, ~Lanes{0});
  second.begin(other, ~Lanes{0});
  for (unsigned lane = 0; lane < kLanes; ++lane)
    EXPECT_EQ(first.of(lane), second.of(lane)) << lane;
}

TEST_P(OrdersOfOneKey, WhatDoesNotVaryIsTheSameForOtherDatesAndAges) {
  testing::RandomProgram random(GetParam());
  random.add_rules();
  const Program& program = random.program();
  Judged one(program);
  Judged other(program);
  random.fill(one.block);
  random.fill_anew(one.block, other.block);
  one.begin(1);
  other.begin(2);
  expect_equal_keys(program, one.block, other.block);
  Variation variation(program, one.columns);
  variation.begin(one.block);
  unsigned fixed = 0;
  unsigned dated = 0;  // lanes that are certain where others are not
  for (NodeId id = 0; id < program.nodes.size() && !HasFailure(); ++id) {
    if (program.nodes[id].scoped) continue;
    const Variation::Masks masks = variation.of(id, ~Lanes{0});
    fixed += count(~masks.value);
    if (masks.value != 0) dated += count(~masks.value);
    each_lane(~masks.state, [&](unsigned lane) {
      expect_same(one, other, program, id, lane, (masks.value >> lane & 1U) == 0);
    });
  }
  EXPECT_GT(fixed, 64U * 100U);
  EXPECT_GT(dated, 100U);
}

std::string said(const Verdict& verdict) {
  std::string text(name(verdict.outcome));
  for (const Finding& finding : verdict.findings) {
    text.append(" ").append(finding.rule).append(":").append(std::to_string(finding.clause));
    text.append(":").append(std::to_string(finding.without));
  }
  for (const NotAssessed& line : verdict.not_assessed) {
    text.append("; ").append(line.missing).append(line.grave ? " grave" : "");
    for (const std::string_view rule : line.rules)
      text.append(" ").append(rule);
  }
  return text;
}

std::vector<std::string> judge(Checker& checker, const Program& program, const OrderBlock& block,
                               std::vector<Lanes>& concerned) {
  History history(program.look_back, program.history_fields, program.history_written);
  std::vector<std::string> texts;
  checker.check(block, history, [&](const Verdict& verdict) { texts.push_back(said(verdict)); });
  concerned.assign(checker.concerned().begin(), checker.concerned().end());
  return texts;
}

TEST_P(OrdersOfOneKey, AreJudgedAsByANewChecker) {
  testing::RandomProgram random(GetParam());
  random.add_rules();
  const auto program = std::make_shared<const Program>(random.program());
  CheckOptions options;
  options.slips = false;
  Checker knowing(program, options);
  knowing.count_concerned();
  OrderBlock like;
  random.fill(like);
  std::size_t findings = 0;
  for (int turn = 0; turn < 16; ++turn) {
    OrderBlock block;
    // Few at a time, whose orders are learnt, and whose rules' paths are; then many of which all
    // are known, and many of few kinds, whose lanes go the same paths together.
    constexpr unsigned kKinds = 16;
    random.fill_anew(like, block, turn < 10 ? kKinds : kLanes, turn < 12 ? kKinds : 4);
    const Days days{{}, 100 + turn};
    knowing.set_days(days);
    Checker anew(program, options);
    anew.count_concerned();
    anew.set_days(days);
    std::vector<Lanes> concerned;
    std::vector<Lanes> concerned_anew;
    const std::vector<std::string> a = judge(knowing, *program, block, concerned);
    const std::vector<std::string> b = judge(anew, *program, block, concerned_anew);
    ASSERT_EQ(a, b) << "turn " << turn << " seed " << GetParam();
    ASSERT_EQ(concerned, concerned_anew) << "turn " << turn << " seed " << GetParam();
    for (const std::string& text : a)
      findings += text.find("rule-") != std::string::npos ? 1 : 0;
  }
  EXPECT_GT(findings, 100U);
}

INSTANTIATE_TEST_SUITE_P(Seeds, OrdersOfOneKey, ::testing::Range(1U, 61U));

}  // namespace
}  // namespace meniscus::engine
