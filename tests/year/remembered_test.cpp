// A checker that has judged hundreds of orders says of the next one what a new checker says, to the
// byte of the report, slips and their questions too: nothing of one order reaches another but by
// the patient's history.
//
// Checked against a checker of its own for every order: of a part of the synthetic year, whose
// damaged orders are where the most is said, and of made orders in which few things come again and
// again, so that what is remembered (searches, texts, conditions about earlier records) is used.
#include <gtest/gtest.h>

#include <algorithm>
#include <memory>
#include <random>
#include <string>
#include <vector>

#include "adapters/input/byte_sources.hpp"
#include "adapters/json/json_source.hpp"
#include "adapters/report/jsonl_writer.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/eval/checker.hpp"
#include "engine/history/history.hpp"
#include "tests/year/year.hpp"

namespace meniscus {
namespace {

using ProgramPtr = std::shared_ptr<const engine::Program>;

std::vector<std::string> year_orders() {
  year::YearOptions options;
  options.seed = 11;
  options.orders = 1200;
  year::Year year(options);
  year::Line line;
  std::vector<std::string> texts;
  while (year.next(line))
    texts.push_back(line.text);
  return texts;
}

/// Orders of few patients in which few sites, medicines and directions come again and again;
/// sometimes one is missing, is none that a table knows, or is a text of its own.
std::vector<std::string> few_things_again() {
  using Texts = std::vector<const char*>;
  const Texts sites{"abdomen", "thigh", "deltoid", "arm", "ventrogluteal", "gluteal", "elbow", ""};
  const Texts sides{"left", "right", ""};
  const Texts quadrants{"upper-left", "lower-left", "", ""};
  const Texts medicines{"testosterone-cypionate", "testosterone-enanthate", "methotrexate",
                        "enoxaparin", "an unknown one"};
  const Texts routes{"subcutaneous", "intramuscular"};
  const Texts directions{
      "once a week",  "50 mg QOD",
      "50 mg now",    "inject .5 mL sc",
      "take U daily", "take 1 daily",
      "biweekly",     "5.0 mg q.d. under the skin, not where it was last, and slowly"};
  std::mt19937 chance(11);
  const auto one = [&](const Texts& texts) { return std::string(texts[chance() % texts.size()]); };
  const auto member = [](const char* name, const std::string& text) {
    return text.empty() ? std::string() : ",\"" + std::string(name) + "\":\"" + text + "\"";
  };
  std::vector<std::string> orders;
  for (std::size_t i = 0; i < 500; ++i) {
    const std::string day = std::to_string(10 + i / 25);
    std::string order = R"({"order":{"id":"M-)";
    order.append(std::to_string(i)).append(R"(","placed":"2026-03-)").append(day).append("\"");
    order += member("directions",
                    chance() % 4 == 0 ? "free text " + std::to_string(i) + " QD" : one(directions));
    order.append(R"(},"patient":{"id":"SM-00)").append(std::to_string(10 + chance() % 8));
    order.append(R"("},"schedule":{"start":"2026-03-)").append(day);
    order.append(R"(","every":"7 days"},"substance":{"code":")").append(one(medicines));
    order.append("\"}").append(member("route", one(routes))).append(member("site", one(sites)));
    order.append(member("side", one(sides))).append(member("quadrant", one(quadrants)));
    order.append(R"(,"dose":")").append(std::to_string(10 + chance() % 5));
    orders.push_back(order + (chance() % 5 == 0 ? ".0 mg" : " mg") + "\"}\n");
  }
  return orders;
}

ProgramPtr shipped() {
  static const ProgramPtr kProgram =
      adapters::load_rules({MENISCUS_SOURCE_DIR "/rules"}, adapters::re2_patterns()).program;
  return kProgram;
}

engine::History new_history() {
  const engine::Program& program = *shipped();
  return {program.look_back, program.history_fields, program.history_written};
}

/// The report of `checker` on `text`, which stands behind `lines_before` lines.
std::string report(engine::Checker& checker, engine::History& history, const std::string& text,
                   std::size_t lines_before) {
  const engine::Feed feed;
  const auto source = adapters::make_json_source(
      {"-", adapters::memory_bytes(std::string(lines_before, '\n') + text), 0},
      {shipped().get(), &feed});
  std::string said;
  adapters::JsonLinesWriter writer(
      [&said](std::string_view bytes) -> engine::Status {
        said += bytes;
        return engine::Done{};
      },
      shipped()->hash);
  writer.begin({1, shipped()->hash});
  engine::OrderBlock block;
  while (source->next(block))
    checker.check(block, history,
                  [&](const engine::Verdict& verdict) { writer.write(verdict, block, *source); });
  EXPECT_TRUE(writer.finish());
  return said;
}

/// How many reports of one order, a line each, have `part`.
std::size_t times(const std::string& reports, const std::string& part) {
  std::size_t count = 0;
  for (std::size_t at = reports.find(part); at != std::string::npos;
       at = reports.find(part, reports.find('\n', at)))
    ++count;
  return count;
}

class Remembered : public ::testing::TestWithParam<engine::Mode> {
 public:
  /// The report of one checker on all of `texts`, which is that of a new one for each.
  static std::string expect_same(const std::vector<std::string>& texts) {
    engine::CheckOptions options;
    options.today = 20514;
    options.mode = GetParam();
    std::string all;
    for (const std::string& text : texts)
      all += text;
    engine::Checker checker(shipped(), options);
    engine::History history = new_history();
    std::string remembered = report(checker, history, all, 0);

    engine::History same = new_history();
    std::size_t at = 0;
    for (std::size_t i = 0; i < texts.size(); ++i) {
      engine::Checker fresh(shipped(), options);
      const std::string said = report(fresh, same, texts[i], i);
      const std::string known = remembered.substr(at, said.size());
      EXPECT_EQ(said, known) << "order " << i << ": " << texts[i];
      if (said != known) break;
      at += said.size();
    }
    EXPECT_EQ(at, remembered.size());
    return remembered;
  }
};

TEST_P(Remembered, NothingOfOneOrderReachesAnother) {
  const std::string remembered = expect_same(year_orders());
  EXPECT_GT(times(remembered, "\"slips\":[{"), 20U);
}

TEST_P(Remembered, WhatComesAgainIsNeverAnotherOrders) {
  const std::vector<std::string> orders = few_things_again();
  const std::string remembered = expect_same(orders);
  for (const char* const rule : {"site-rest", "unsafe-notation", "one-active-order"})
    EXPECT_GT(times(remembered, "\"rule\":\"" + std::string(rule)), 20U) << rule;
  for (const char* const rule : {"site-rest", "unsafe-notation"})
    EXPECT_LT(times(remembered, "\"rule\":\"" + std::string(rule)), orders.size() - 20) << rule;
}

/// The same orders on other days, of other patients and of patients of another age, and once more.
std::vector<std::string> on_other_days(const std::vector<std::string>& orders) {
  const auto replaced = [](std::string text, const std::string& from, const std::string& to) {
    for (std::size_t at = text.find(from); at != std::string::npos;
         at = text.find(from, at + to.size()))
      text.replace(at, from.size(), to);
    return text;
  };
  std::vector<std::string> all = orders;
  for (const std::string& order : orders)
    all.push_back(replaced(replaced(order, "\"2026-", "\"2025-"), "\"SM-", "\"SM-1"));
  for (const std::string& order : orders)
    all.push_back(replaced(replaced(order, "\"born\":\"19", "\"born\":\"20"), "\"SM-", "\"SM-2"));
  all.insert(all.end(), orders.begin(), orders.end());
  return all;
}

/// Live orders come one at a time, and what rules did for one is used for the next that says the
/// same but for ids, dates, ages and weights (engine/eval/known_orders.hpp).
class OneAtATime : public ::testing::TestWithParam<engine::Mode> {
 public:
  /// The reports of one checker, which are those of a new one for each order.  `since`: what came
  /// before it is not known.
  static std::string expect_same(double since) {
    std::vector<std::string> orders = year_orders();
    orders.resize(300);
    const std::vector<std::string> few = few_things_again();
    orders.insert(orders.end(), few.begin(), few.begin() + 200);
    engine::CheckOptions options;
    options.today = 20514;
    options.mode = GetParam();
    engine::Checker checker(shipped(), options);
    checker.count_concerned();
    engine::History history = new_history();
    engine::History same = new_history();
    history.set_since(since);
    same.set_since(since);
    std::string all;
    for (const std::string& order : on_other_days(orders)) {
      engine::Checker fresh(shipped(), options);
      fresh.count_concerned();
      const std::string said = report(checker, history, order, 0);
      const std::string said_anew = report(fresh, same, order, 0);
      EXPECT_EQ(said, said_anew) << order;
      EXPECT_TRUE(std::equal(checker.concerned().begin(), checker.concerned().end(),
                             fresh.concerned().begin(), fresh.concerned().end()))
          << order;
      if (HasFailure()) break;
      all += said;
    }
    return all;
  }
};

TEST_P(OneAtATime, WhatIsKnownOfAnOrderIsSoForTheNext) {
  const std::string all = expect_same(engine::History::kAlways);
  for (const char* const rule : {"site-rest", "interval", "vial-plan", "weight-plausible"})
    EXPECT_GT(times(all, "\"rule\":\"" + std::string(rule)), 10U) << rule;
  EXPECT_EQ(times(all, "history before "), 0U);
}

/// Of some orders, rules look further back than that, and of others they do not.
TEST_P(OneAtATime, NorIsWhereHistoryBeginsThatOfAnother) {
  constexpr double kDay = 86400;
  const std::string all = expect_same(20442 * kDay);
  EXPECT_GT(times(all, "\"history before "), 100U);
}

const auto kModes = ::testing::Values(engine::Mode::Columns, engine::Mode::OneByOne);

std::string name_of(const ::testing::TestParamInfo<engine::Mode>& mode) {
  return mode.param == engine::Mode::Columns ? "Columns" : "OneByOne";
}

INSTANTIATE_TEST_SUITE_P(Modes, Remembered, kModes, name_of);
INSTANTIATE_TEST_SUITE_P(Modes, OneAtATime, kModes, name_of);

}  // namespace
}  // namespace meniscus
