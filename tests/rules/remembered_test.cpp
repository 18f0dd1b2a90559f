// A checker that has judged hundreds of orders says of the next one what a new checker says: what
// it remembers (searches, texts, conditions about earlier records) is never another order's.
//
// Checked against itself without a memory: a checker of its own for every order.
#include <gtest/gtest.h>

#include <array>
#include <random>

#include "tests/rules/judging.hpp"

namespace meniscus::rules_tests {
namespace {

constexpr std::size_t kOrders = 500;

/// Orders of few patients in which few sites, medicines and directions come again and again;
/// sometimes one is missing, is none that a table knows, or is a text of its own.
std::vector<std::string> made_orders() {
  using Texts = std::vector<const char*>;
  const Texts sites{"abdomen", "thigh", "deltoid", "arm", "ventrogluteal", "gluteal", "elbow", ""};
  const Texts sides{"left", "right", ""};
  const Texts quadrants{"upper-left", "lower-left", "", ""};
  const Texts medicines{"testosterone-cypionate", "testosterone-enanthate", "methotrexate",
                        "enoxaparin", "an unknown one"};
  const Texts routes{"subcutaneous", "intramuscular"};
  const Texts directions{
      "once a week",  "50 mg QOD", "inject .5 mL sc",
      "take U daily", "biweekly",  "5.0 mg q.d. under the skin, not where it was last, and slowly"};
  std::mt19937 chance(11);
  const auto one = [&](const Texts& texts) { return std::string(texts[chance() % texts.size()]); };
  const auto member = [](const char* name, const std::string& text) {
    return text.empty() ? std::string() : ",\"" + std::string(name) + "\":\"" + text + "\"";
  };
  std::vector<std::string> orders;
  for (std::size_t i = 0; i < kOrders; ++i) {
    const std::string day = std::to_string(10 + i / 25);
    orders.push_back(
        R"({"order":{"id":"M-)" + std::to_string(i) + R"(","placed":"2026-03-)" + day + "\"" +
        member("directions",
               chance() % 4 == 0 ? "free text " + std::to_string(i) + " QD" : one(directions)) +
        R"(},"patient":{"id":"SM-00)" + std::to_string(10 + chance() % 8) +
        R"("},"schedule":{"start":"2026-03-)" + day +
        R"(","every":"7 days"},"substance":{"code":")" + one(medicines) + "\"}" +
        member("route", one(routes)) + member("site", one(sites)) + member("side", one(sides)) +
        member("quadrant", one(quadrants)) + R"(,"dose":")" + std::to_string(10 + chance() % 5) +
        (chance() % 5 == 0 ? ".0 mg" : " mg") + "\"}\n");
  }
  return orders;
}

/// Judges `text` with `checker` behind what `history` holds.
std::vector<Said> judge(engine::Checker& checker, engine::History& history,
                        const std::string& text) {
  const auto program = shipped_program();
  const engine::Feed feed;
  const auto source =
      adapters::make_json_source({"-", adapters::memory_bytes(text), 0}, {program.get(), &feed});
  engine::OrderBlock block;
  std::vector<Said> said;
  while (source->next(block))
    checker.check(block, history,
                  [&](const engine::Verdict& verdict) { said.push_back(read(verdict)); });
  return said;
}

std::size_t times(const std::vector<Said>& said, const std::string& rule) {
  std::size_t count = 0;
  for (const Said& one : said)
    count += one.text.find(" from " + rule + ":") != std::string::npos ? 1 : 0;
  return count;
}

class Remembered : public ::testing::TestWithParam<engine::Mode> {};

TEST_P(Remembered, SaysWhatANewCheckerSays) {
  const auto program = shipped_program();
  engine::CheckOptions options;
  options.today = kToday;
  options.mode = GetParam();
  const std::vector<std::string> orders = made_orders();
  std::string all;
  for (const std::string& order : orders)
    all += order;
  engine::History history(program->look_back, program->history_fields, program->history_written);
  engine::Checker checker(program, options);
  const std::vector<Said> remembered = judge(checker, history, all);
  ASSERT_EQ(remembered.size(), kOrders);

  engine::History same(program->look_back, program->history_fields, program->history_written);
  for (std::size_t i = 0; i < kOrders; ++i) {
    engine::Checker fresh(program, options);
    const std::vector<Said> said = judge(fresh, same, orders[i]);
    ASSERT_EQ(said.size(), 1U);
    ASSERT_EQ(said[0].text, remembered[i].text) << orders[i];
  }
  // What is remembered was asked for.
  for (const char* const rule : {"site-rest", "unsafe-notation", "one-active-order"})
    EXPECT_GT(times(remembered, rule), 20U) << rule;
  EXPECT_LT(times(remembered, "site-rest"), kOrders - 20);
  EXPECT_LT(times(remembered, "unsafe-notation"), kOrders - 20);
}

INSTANTIATE_TEST_SUITE_P(Modes, Remembered,
                         ::testing::Values(engine::Mode::Columns, engine::Mode::OneByOne),
                         [](const auto& mode) {
                           return mode.param == engine::Mode::Columns ? "Columns" : "OneByOne";
                         });

}  // namespace
}  // namespace meniscus::rules_tests
