// The shipped rules, and a checker of the same rules written by hand from the same sources, agree
// on made-up orders.
//
// Checks:  every finding of the rules that the yardstick knows, in both directions, order by order;
// and that each fault
//          that the maker plants is found by the rule that is there for it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <simdjson.h>

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <string>

#include "tests/bench/order_maker.hpp"
#include "tests/bench/yardstick/yardstick.hpp"

namespace meniscus::bench {
namespace {

constexpr std::size_t kOrders = 4000;

/// "rule grade" of each order.
using Findings = std::map<std::string, std::set<std::string>>;

template <class Run>
Findings by_yardstick(const std::string& orders, Run run) {
  Findings all;
  const std::size_t read = run(orders, [&](std::string_view id, const auto& findings) {
    std::set<std::string>& found = all[std::string(id)];
    for (const YardstickFinding& finding : findings.all())
      found.insert(std::string(finding.rule) + ' ' + std::string(engine::name(finding.grade)));
  });
  EXPECT_EQ(read, kOrders);
  return all;
}

/// `options` names the format, and what else reading it takes.
Findings by_program(const std::string& orders, const std::string& options) {
  const std::string base = std::string(MENISCUS_BINARY_DIR) + "/yardstick-test-" +
                           ::testing::UnitTest::GetInstance()->current_test_info()->name();
  std::ofstream(base + ".txt", std::ios::binary) << orders;
  std::ofstream(base + ".profile.json", std::ios::binary) << message_profile();
  const std::string command = std::string(MENISCUS_PROGRAM) + " check " + base + ".txt " + options +
                              " --to jsonl --as-of 2026-03-31 --only-rules" +
                              " --rules " MENISCUS_SOURCE_DIR "/rules > " + base + ".jsonl";
  const int status = std::system(command.c_str());
  EXPECT_EQ(status / 256, 1) << command;

  std::set<std::string, std::less<>> known(yardstick_rules().begin(), yardstick_rules().end());
  Findings all;
  std::ifstream verdicts(base + ".jsonl");
  for (std::string line; std::getline(verdicts, line);) {
    const nlohmann::json verdict = nlohmann::json::parse(line);
    std::set<std::string>& found = all[verdict.at("order")];
    for (const nlohmann::json& finding : verdict.at("findings")) {
      const std::string rule = finding.at("rule");
      if (known.contains(rule)) found.insert(rule + ' ' + finding.at("grade").get<std::string>());
    }
  }
  return all;
}

/// What the rule that is there for a fault must say.
std::string_view expected(Fault fault) {
  switch (fault) {
    case Fault::None:
    case Fault::NeedleLong:        // nothing where the order is for a muscle
    case Fault::VolumeTooSmall:    // as for BetweenMarks: other clauses come first
    case Fault::TooMuchAtOneSite:  // nothing where the order is for a muscle
      return "";
    case Fault::VolumeFarOff:
      return "dose-volume-agreement hold";
    case Fault::VolumeOff:
      return "dose-volume-agreement clarify";
    case Fault::VolumeTooLarge:
      return "syringe-fits clarify";
    case Fault::BetweenMarks:
      return "syringe-fits note";
    case Fault::NeedleThin:
      return "needle-gauge clarify";
    case Fault::NeedleShort:
      return "needle-length clarify";
    case Fault::StrengthUnknown:
      return "product clarify";
    case Fault::TooEarly:
    case Fault::TooLate:
      return "interval clarify";
    case Fault::VialOld:
      return "beyond-use hold";
    case Fault::RouteMissing:
      return "route-named ";
    case Fault::Allergy:
      return "allergy hold";
  }
  return "";
}

TEST(Yardstick, FindsEveryPlantedFault) {
  OrderMaker maker;
  std::string orders;
  std::vector<Fault> faults;
  for (std::size_t i = 0; i < kOrders; ++i)
    faults.push_back(maker.append(orders));
  std::size_t lane = 0;
  std::set<Fault> seen;
  orders.reserve(orders.size() + simdjson::SIMDJSON_PADDING);
  run_yardstick(orders, [&](std::string_view id, const YardstickFindings& findings) {
    const Fault fault = faults[lane++];
    seen.insert(fault);
    std::vector<std::string> found;
    for (const YardstickFinding& finding : findings.all())
      found.push_back(std::string(finding.rule) + ' ' + std::string(engine::name(finding.grade)));
    if (fault == Fault::None) {
      EXPECT_THAT(found, ::testing::IsEmpty()) << id;
    } else if (const std::string_view needed = expected(fault); !needed.empty()) {
      EXPECT_THAT(found, ::testing::Contains(::testing::StartsWith(std::string(needed)))) << id;
    }
  });
  EXPECT_EQ(seen.size(), kFaultCount);
}

void expect_same(const Findings& by_hand, const Findings& by_rules) {
  ASSERT_EQ(by_rules.size(), kOrders);
  std::size_t findings = 0;
  for (const auto& [id, found] : by_hand) {
    findings += found.size();
    const auto verdict = by_rules.find(id);
    ASSERT_NE(verdict, by_rules.end()) << id;
    EXPECT_EQ(found, verdict->second) << id;
  }
  EXPECT_GT(findings, kOrders / 10);
}

TEST(Yardstick, AgreesWithTheShippedRules) {
  std::string orders = make_orders(kOrders);
  orders.reserve(orders.size() + simdjson::SIMDJSON_PADDING);
  expect_same(by_yardstick(orders, run_yardstick), by_program(orders, "--from ndjson"));
}

TEST(Yardstick, AgreesOnMessages) {
  const std::string messages = make_messages(kOrders);
  const std::string profile =
      std::string(MENISCUS_BINARY_DIR) + "/yardstick-test-AgreesOnMessages.profile.json";
  const Findings by_hand = by_yardstick(messages, run_message_yardstick);
  expect_same(by_hand, by_program(messages, "--from hl7 --profile " + profile));
  std::string orders = make_orders(kOrders);
  orders.reserve(orders.size() + simdjson::SIMDJSON_PADDING);
  EXPECT_EQ(by_hand, by_yardstick(orders, run_yardstick)) << "the same orders in another form";
}

}  // namespace
}  // namespace meniscus::bench
