// What a rule's months say, against published control charts.
#include "adapters/replay/signals.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

namespace meniscus::adapters::replay {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

/// The signals of one rule that fired so often in months of `of` orders each: "jump 3".
std::vector<std::string> signals(const std::vector<Count>& fired, Count of) {
  SideTally side;
  RuleTally& rule = side.rules.emplace_back();
  std::vector<Month> months;
  for (std::size_t i = 0; i < fired.size(); ++i) {
    months.push_back(static_cast<Month>(i + 1));
    rule.months.push_back({of, fired[i], 0, 0});
    rule.concerned += of;
    rule.fired += fired[i];
  }
  std::vector<std::string> texts;
  for (const Signal& signal : signals_of(side, 1, months, rule.concerned, 1.0))
    texts.push_back(std::string(name(signal.kind)) +
                    (signal.month ? " " + std::to_string(*signal.month) : std::string()));
  return texts;
}

// "An Introduction to Business Statistics", example 16.6: ten samples of 200, p = 0.16, limits
// 0.0822 and 0.2378; every sample is within them.
TEST(Signals, AreSilentWhereAControlChartIs) {
  EXPECT_THAT(signals({40, 44, 22, 34, 24, 32, 28, 32, 34, 30}, 200), IsEmpty());
}

// A rule that could not be decided is another thing than one that found nothing.
TEST(Signals, SayOfASilentRuleWhetherItWasAssessed) {
  const auto said_of = [](Count concerned, Count not_assessed) {
    SideTally side;
    RuleTally& rule = side.rules.emplace_back();
    rule.concerned = concerned;
    rule.not_assessed = not_assessed;
    return signals_of(side, 1, {}, concerned, 1.0).at(0).say;
  };
  EXPECT_EQ(said_of(50, 0), "never fired; it concerned 50 orders");
  EXPECT_EQ(said_of(50, 20),
            "never fired; it concerned 50 orders and was not assessed on 20 of them");
  EXPECT_EQ(said_of(50, 50), "never assessed on the 50 orders that it concerned");
  EXPECT_EQ(said_of(0, 0), "never fired; it concerned 0 orders");
}

// The data of the proportions chart in the NIST/SEMATECH e-Handbook, 6.3.3.2 (thirty wafers of
// fifty chips, mean 0.2313; the single counts are from memory): the 15th and the 23rd are above the
// upper limit of 0.41.
TEST(Signals, SayWhatAControlChartSays) {
  EXPECT_THAT(signals({12, 15, 8, 10, 4,  7,  16, 9,  14, 10, 5,  6, 17, 12, 22,
                       8,  10, 5, 13, 11, 20, 18, 24, 15, 9,  12, 7, 13, 9,  6},
                      50),
              ElementsAre("jump 15", "jump 23"));
}

/// P(X >= least) of a binomial distribution, term by term.
double at_least(int least, int n, double p) {
  double sum = 0;
  for (int k = least; k <= n; ++k)
    sum += std::exp(std::lgamma(n + 1) - std::lgamma(k + 1) - std::lgamma(n - k + 1) +
                    k * std::log(p) + (n - k) * std::log1p(-p));
  return sum;
}

// The chance beyond three standard deviations on one side: 0.00135 (any table of the normal
// distribution).  The upper limit is the first count that is less likely than that.
TEST(Signals, JumpAndDropAtTheLimits) {
  const auto with_last = [](Count last) {
    std::vector<Count> fired(200, 32);  // so many that the last does not move their mean
    fired.push_back(last);
    return signals(fired, 200);
  };
  int jump = 32;
  while (at_least(jump, 200, 0.16) >= 0.00135)
    ++jump;
  int drop = 32;
  while (1 - at_least(drop + 1, 200, 0.16) >= 0.00135)
    --drop;
  EXPECT_NEAR(jump, 0.2378 * 200, 2) << "the textbook's limits are those of the approximation";
  EXPECT_NEAR(drop, 0.0822 * 200, 2);
  EXPECT_THAT(with_last(static_cast<Count>(drop)), ElementsAre("drop 201"));
  EXPECT_THAT(with_last(static_cast<Count>(drop + 1)), IsEmpty());
  EXPECT_THAT(with_last(static_cast<Count>(jump - 1)), IsEmpty());
  EXPECT_THAT(with_last(static_cast<Count>(jump)), ElementsAre("jump 201"));
}

TEST(Signals, OneFindingOfARareRuleIsNoJump) {
  EXPECT_THAT(signals({0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0, 1}, 500), IsEmpty());
}

// No finding where each order has one with probability p: (1 - p)^n.  At p = 0.1 that is 0.00146
// for 62 orders and 0.00131 for 63; the limit is 0.00135.
TEST(Signals, AStopIsAsLoudAsAJump) {
  const auto with_last_of = [](Count of) {
    SideTally side;
    RuleTally& rule = side.rules.emplace_back();
    std::vector<Month> months;
    for (Month month = 1; month <= 10; ++month) {
      months.push_back(month);
      rule.months.push_back({10'000, 1'000, 0, 0});
    }
    rule.months.push_back({of, 0, 0, 0});
    months.push_back(11);
    rule.concerned = 100'000 + of;
    rule.fired = 10'000;
    return signals_of(side, 1, months, rule.concerned, 1.0);
  };
  EXPECT_EQ(with_last_of(62).size(), 0U);
  const std::vector<Signal> stopped = with_last_of(63);
  ASSERT_EQ(stopped.size(), 1U);
  EXPECT_EQ(stopped[0].kind, SignalKind::Stopped);
  EXPECT_EQ(stopped[0].month, 11);
  EXPECT_EQ(stopped[0].of, 63U);
}

// Fisher, The Design of Experiments (1935), chapter 2: of eight cups four have the milk first, and
// all four are named by chance once in 70.  Below, twice as many months of ten cups: 20 orders, 10
// of them with a finding, all in one month: once in 184,756 (the binomial coefficient of 20 over
// 10).
TEST(Signals, TwoMonthsMirrorEachOther) {
  EXPECT_THAT(signals({20, 0}, 20), ElementsAre("jump 1", "stopped 2"));
}

TEST(Signals, NameRulesThatNeverFireOrFireOften) {
  EXPECT_THAT(signals({0, 0}, 100), ElementsAre("never"));
  SideTally side;
  side.rules.resize(2);
  side.rules[0].concerned = side.rules[1].concerned = 100;
  side.rules[0].fired = 10;
  side.rules[1].fired = 11;
  const std::vector<Signal> often = signals_of(side, 2, {}, 100, 0.1);
  ASSERT_EQ(often.size(), 1U);
  EXPECT_EQ(often[0].kind, SignalKind::Often);
  EXPECT_EQ(often[0].rule, 1);
  EXPECT_EQ(often[0].say, "fired on 11.0 % of all 100 judged orders");
}

}  // namespace
}  // namespace meniscus::adapters::replay
