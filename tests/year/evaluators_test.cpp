// The columns and the tree walk give the same answer for every node of whole rule sets, on a part
// of the synthetic year with its history: what random programs (tests/engine/eval) do not build,
// tables, queries, texts and lists, is compared here.
//
// Every operation that a program can have is met.  So a `default:` in a switch over operations,
// which the evaluators have where an operation is somebody else's work, hides nothing.
#include <gtest/gtest.h>

#include <bitset>
#include <memory>
#include <string>

#include "adapters/input/byte_sources.hpp"
#include "adapters/json/json_source.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/eval/columns.hpp"
#include "engine/eval/facts.hpp"
#include "engine/history/history.hpp"
#include "tests/engine/eval/cells.hpp"
#include "tests/year/year.hpp"

namespace meniscus {
namespace {

using namespace engine;  // NOLINT(google-build-using-namespace): every second word is the engine's

constexpr auto kOpCount = static_cast<std::size_t>(Op::Query) + 1;
using OpSet = std::bitset<kOpCount>;
using engine::testing::state_at;
using engine::testing::truth_at;
using ProgramPtr = std::shared_ptr<const Program>;

/// A stretch of the synthetic year, with damaged orders in it.
const std::string& orders() {
  static const std::string kOrders = [] {
    year::YearOptions options;
    options.seed = 7;
    options.orders = 1500;
    year::Year year(options);
    year::Line line;
    std::string text;
    while (year.next(line))
      text += line.text;
    return text;
  }();
  return kOrders;
}

ProgramPtr load(const std::string& path) {
  return adapters::load_rules({MENISCUS_SOURCE_DIR + path}, adapters::re2_patterns()).program;
}

/// Columns carry neither texts nor lists, and a record only as a handle of the tree walk.
bool has_column(const Node& node) {
  return node.type != Type::Text && node.type != Type::Texts && node.type != Type::Items &&
         node.type != Type::Record;
}

class Comparison {
 public:
  explicit Comparison(ProgramPtr program)
      : program_(std::move(program)),
        history_(program_->look_back, program_->history_fields, program_->history_written),
        for_columns_(*program_),
        alone_(*program_),
        columns_(*program_, for_columns_) {}

  void run() {
    const Feed feed;
    const auto source = adapters::make_json_source({"-", adapters::memory_bytes(orders()), 0},
                                                   {program_.get(), &feed});
    OrderBlock block;
    while (source->next(block)) {
      compare(block);
      if (::testing::Test::HasFatalFailure()) return;
      // As if a block were one moment: what counts here is that there is history at all.
      for (unsigned lane = 0; lane < block.size(); ++lane)
        history_.add(block, lane, facts_.at(lane).planned_day);
    }
  }

  [[nodiscard]] std::size_t known() const { return known_; }
  [[nodiscard]] std::size_t with_records() const { return with_records_; }

 private:
  void compare(const OrderBlock& block) {
    for (unsigned lane = 0; lane < block.size(); ++lane) {
      facts_.at(lane) = facts_of(block, lane, {std::nullopt, 20514});
      const Value patient = block.value(lane, FieldId::PatientId);
      if (patient.known()) facts_.at(lane).records = &history_.of(patient.aux);
      // Of every other patient, no more than the last weeks are known.
      if (lane % 2 == 1) facts_.at(lane).since = facts_.at(lane).today.number - 40.0 * 86400;
    }
    columns_.begin(block, {facts_.data(), block.size()});
    for (unsigned lane = 0; lane < block.size(); ++lane) {
      if (facts_.at(lane).records != nullptr && !facts_.at(lane).records->empty()) ++with_records_;
      alone_.begin(facts_.at(lane));
      for (NodeId id = 0; id < program_->nodes.size(); ++id) {
        if (program_->nodes[id].scoped) continue;
        compare(id, lane);
        if (::testing::Test::HasFatalFailure()) return;
      }
    }
  }

  void compare(NodeId id, unsigned lane) {
    const Node& node = program_->nodes[id];
    const Lanes all = lane % 2 == 0 ? ~Lanes{0} : Lanes{1} << lane;
    const Lanes lanes = all & (facts_size(lane));
    if (node.type == Type::Truth) {
      const Truth expected = alone_.truth(id);
      ASSERT_EQ(truth_at(columns_.truth(id, lanes), lane), expected) << "node " << id;
      if (expected != Truth::Unknown) ++known_;
      return;
    }
    if (!has_column(node)) return;
    const ValueView view = columns_.value(id, lanes);
    const Value expected = alone_.value(id);
    ASSERT_EQ(state_at(view, lane), expected.state) << "node " << id;
    if (!expected.known()) return;
    ++known_;
    ASSERT_EQ(view.number[lane], expected.number) << "node " << id;
    if (node.type == Type::Word || node.varies) {
      ASSERT_EQ(view.aux[lane], expected.aux) << "node " << id;
    }
  }

  /// The lanes up to this one: those are filled.
  static Lanes facts_size(unsigned lane) {
    return lane + 1 == kLanes ? ~Lanes{0} : (Lanes{1} << (lane + 1)) - 1;
  }

  ProgramPtr program_;
  History history_;
  Scalar for_columns_;
  Scalar alone_;
  Columns columns_;
  std::array<OrderFacts, kLanes> facts_;
  std::size_t known_ = 0;
  std::size_t with_records_ = 0;
};

class Evaluators : public ::testing::TestWithParam<const char*> {};

TEST_P(Evaluators, AgreeOnEveryNodeOfWholeRuleSets) {
  const ProgramPtr program = load(GetParam());
  ASSERT_NE(program, nullptr);
  Comparison comparison(program);
  comparison.run();
  EXPECT_GT(comparison.known(), 10000U);
  EXPECT_GT(comparison.with_records(), 300U);
}

constexpr const char* kShipped = "/rules";
constexpr const char* kEveryConstruct = "/tests/fixtures/rules/every-construct.rule";
constexpr const char* kRarer = "/tests/fixtures/rules/rarer-operations.rule";

INSTANTIATE_TEST_SUITE_P(RuleSets, Evaluators,
                         ::testing::Values(kShipped, kEveryConstruct, kRarer));

TEST(Operations, AreAllMetInTheRuleSets) {
  OpSet met;
  for (const char* const path : {kShipped, kEveryConstruct, kRarer}) {
    const ProgramPtr program = load(path);
    ASSERT_NE(program, nullptr);
    for (const Node& node : program->nodes)
      met.set(static_cast<std::size_t>(node.op));
  }
  for (std::size_t op = 0; op < kOpCount; ++op)
    EXPECT_TRUE(met.test(op)) << "operation " << op << " is in no rule set that is compared";
}

}  // namespace
}  // namespace meniscus
