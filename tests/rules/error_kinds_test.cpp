// Forty kinds of order error that safety bodies reported, each as a full order that the shipped
// rules must catch. The body and its report stand beside each order in cases/error-kinds.cases.
#include <gtest/gtest.h>

#include <algorithm>

#include "tests/rules/cases.hpp"
#include "tests/rules/judging.hpp"

namespace meniscus {
namespace {

using rules_tests::Case;
using rules_tests::Expected;
using rules_tests::judge_last;
using rules_tests::Said;

const std::string kCases = MENISCUS_SOURCE_DIR "/tests/rules/cases/error-kinds.cases";

class ErrorKind : public ::testing::TestWithParam<Case> {};

TEST_P(ErrorKind, IsCaught) {
  const Case& c = GetParam();
  EXPECT_FALSE(c.source.empty()) << c << ": nobody is named who reported it";
  std::vector<std::vector<Expected>> wanted = c.further;
  wanted.push_back(c.expected);
  for (const engine::Mode mode : {engine::Mode::Columns, engine::Mode::OneByOne}) {
    const Said said = judge_last(c.orders, mode);
    EXPECT_EQ(said.orders, c.count);
    for (const std::vector<Expected>& alternatives : wanted) {
      ASSERT_FALSE(alternatives.empty());
      EXPECT_TRUE(std::any_of(alternatives.begin(), alternatives.end(),
                              [&](const Expected& e) { return said.has(e.rule, e.outcome); }))
          << c << ": expected " << alternatives.front().outcome << " from "
          << alternatives.front().rule << ", got " << said.text;
    }
  }
}

INSTANTIATE_TEST_SUITE_P(Reported, ErrorKind, ::testing::ValuesIn(rules_tests::read_cases(kCases)),
                         [](const auto& info) { return info.param.number; });

TEST(ErrorKinds, AllFortyAreThere) {
  std::vector<std::string> numbers;
  for (const Case& c : rules_tests::read_cases(kCases))
    numbers.push_back(c.number.substr(0, 3));
  std::sort(numbers.begin(), numbers.end());
  numbers.erase(std::unique(numbers.begin(), numbers.end()), numbers.end());
  EXPECT_EQ(numbers.size(), 40U);
  EXPECT_EQ(numbers.front(), "E01");
  EXPECT_EQ(numbers.back(), "E40");
}

}  // namespace
}  // namespace meniscus
