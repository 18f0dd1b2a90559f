// Slips in orders with one mistake each: is what was meant among the three that are named?
//
// Source of the kinds: published error reports (engine/slips/kinds.def has them), else common
// practice. The key is the sound order itself, which the shipped rules find nothing graver than a
// caution in; reader, rules and checker are those that the program runs.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>
#include <fstream>
#include <map>
#include <memory>

#include "adapters/input/byte_sources.hpp"
#include "adapters/json/json_source.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/eval/checker.hpp"
#include "engine/order/field_text.hpp"
#include "engine/slips/dependence.hpp"
#include "engine/slips/finder.hpp"
#include "tests/rules/slips/defects.hpp"

namespace meniscus {
namespace {

using rules_tests::Defect;
using rules_tests::Json;
using rules_tests::Mistake;

constexpr std::int64_t kToday = 20514;  // 2026-03-02
/// Noticed mistakes of a kind that make a share of it mean something; fewer are only printed.
constexpr std::size_t kEnough = 20;

std::shared_ptr<const engine::Program> shipped_program() {
  static const adapters::LoadedRules kLoaded =
      adapters::load_rules({MENISCUS_SOURCE_DIR "/rules"}, adapters::re2_patterns());
  return kLoaded.program;
}

std::vector<Json> sound_orders() {
  std::ifstream in(MENISCUS_SOURCE_DIR "/tests/rules/slips/clean.ndjson");
  std::vector<Json> orders;
  for (std::string line; std::getline(in, line);)
    orders.push_back(Json::parse(line));
  return orders;
}

/// What a verdict says, kept beyond it.
struct Said {
  engine::Outcome outcome{};
  struct Found {
    std::string rule;
    std::uint16_t clause = 0;
    engine::Grade grade{};
    bool operator==(const Found&) const = default;
  };
  std::vector<Found> findings;
  std::vector<std::string> not_assessed;
  std::vector<engine::Slip> slips;
  std::string text;
};

Said read(const engine::Verdict& verdict) {
  Said said;
  said.outcome = verdict.outcome;
  said.slips = verdict.slips;
  for (const engine::Finding& finding : verdict.findings) {
    said.findings.push_back({std::string(finding.rule), finding.clause, finding.grade});
    said.text.append("\n    ").append(name(finding.grade)).append(" ").append(finding.rule);
    said.text.append(": ").append(finding.say);
  }
  for (const engine::NotAssessed& line : verdict.not_assessed) {
    for (const std::string_view rule : line.rules)
      said.not_assessed.push_back(line.missing + " " + std::string(rule));
  }
  for (const engine::Slip& slip : verdict.slips) {
    said.text.append("\n    slip ").append(info(slip.field).name).append(" ").append(slip.from);
    said.text.append(" -> ").append(slip.to).append(": ").append(slip.why);
  }
  return said;
}

std::vector<Said> judge(const std::vector<Json>& orders, engine::Mode mode) {
  std::string text;
  for (const Json& order : orders)
    text += order.dump() + "\n";
  const engine::Feed feed;
  const auto program = shipped_program();
  const auto source =
      adapters::make_json_source({"-", adapters::memory_bytes(text), 0}, {program.get(), &feed});
  engine::CheckOptions options;
  options.today = kToday;
  options.mode = mode;
  engine::Checker checker(program, options);
  engine::OrderBlock block;
  std::vector<Said> said;
  while (source->next(block)) {
    // Each order is the first of its patient.
    engine::History history(program->look_back, program->history_fields, program->history_written);
    checker.check(block, history, [&](const engine::Verdict& v) { said.push_back(read(v)); });
  }
  return said;
}

bool is_grave(const Said& said) {
  return said.outcome == engine::Outcome::Clarify || said.outcome == engine::Outcome::Hold;
}

/// A field's text as the reader understands it.
engine::Value understood(engine::FieldId field, const std::string& text) {
  const engine::Feed feed;
  engine::OrderBlock block;
  block.add_lane();
  set_field({shipped_program().get(), &feed}, block, 0, field, block.keep(text), {});
  engine::Value value = block.value(0, field);
  value.text = {};
  return value;
}

bool same(engine::FieldId field, const std::string& a, const std::string& b) {
  const engine::Value x = understood(field, a);
  const engine::Value y = understood(field, b);
  return x.known() && x.state == y.state && x.aux == y.aux &&
         engine::compare(x.number, y.number) == 0;
}

bool names(const Said& said, const Mistake& mistake) {
  return std::any_of(said.slips.begin(), said.slips.end(), [&](const engine::Slip& slip) {
    return info(slip.field).name == mistake.field && same(slip.field, slip.to, mistake.meant);
  });
}

struct Count {
  std::size_t injected = 0;
  std::size_t noticed = 0;  // some rule asks or stops
  std::size_t named = 0;
  std::string missed;
};

class Defects : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    for (const Json& order : sound_orders()) {
      for (const Defect& defect : rules_tests::defects()) {
        for (Mistake& mistake : defect.inject(order))
          mistakes().emplace_back(defect.kind, std::move(mistake));
      }
    }
  }
  static std::vector<std::pair<std::string, Mistake>>& mistakes() {
    static std::vector<std::pair<std::string, Mistake>> all;
    return all;
  }
  static std::vector<Json> orders() {
    std::vector<Json> orders;
    for (const auto& [kind, mistake] : mistakes()) {
      orders.push_back(mistake.order);
      orders.back()["patient"]["id"] = "SM-" + std::to_string(orders.size());
    }
    return orders;
  }
};

TEST(SoundOrders, AreSound) {
  const std::vector<Said> said = judge(sound_orders(), engine::Mode::Columns);
  ASSERT_GE(said.size(), 20U);
  for (std::size_t i = 0; i < said.size(); ++i) {
    EXPECT_LE(said[i].outcome, engine::Outcome::Caution) << "line " << i + 1 << said[i].text;
    EXPECT_TRUE(said[i].slips.empty()) << "line " << i + 1;
  }
}

TEST_F(Defects, WhatWasMeantIsNamed) {
  const std::vector<Said> said = judge(orders(), engine::Mode::Columns);
  ASSERT_EQ(said.size(), mistakes().size());
  std::map<std::string, Count> counts;
  Count all;
  for (std::size_t i = 0; i < said.size(); ++i) {
    Count& count = counts[mistakes()[i].first];
    const Mistake& mistake = mistakes()[i].second;
    ++count.injected;
    if (!is_grave(said[i])) continue;
    ++count.noticed;
    ++all.noticed;
    if (names(said[i], mistake)) {
      ++count.named;
      ++all.named;
      continue;
    }
    count.missed += "\n  " + mistake.order["order"]["id"].get<std::string>() + " " + mistake.field +
                    ": " + rules_tests::text_of(mistake.order, mistake.field) + " for " +
                    mistake.meant + said[i].text;
  }
  for (const auto& [kind, count] : counts) {
    std::printf("%-44s %4zu injected, %4zu noticed, %4zu named\n", kind.c_str(), count.injected,
                count.noticed, count.named);
    if (count.noticed >= kEnough) {
      EXPECT_GE(static_cast<double>(count.named), 0.95 * static_cast<double>(count.noticed))
          << kind << count.missed;
    }
    EXPECT_GT(count.noticed, 0U) << kind;
  }
  std::printf("%-44s %4zu noticed, %4zu named\n", "all", all.noticed, all.named);
  EXPECT_GE(static_cast<double>(all.named), 0.95 * static_cast<double>(all.noticed));
}

TEST_F(Defects, AreTheSameOneByOne) {
  const std::vector<Said> columns = judge(orders(), engine::Mode::Columns);
  const std::vector<Said> alone = judge(orders(), engine::Mode::OneByOne);
  ASSERT_EQ(columns.size(), alone.size());
  const std::vector<Json> all = orders();
  std::size_t slips = 0;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    ASSERT_EQ(columns[i].slips.size(), alone[i].slips.size())
        << all[i].dump() << columns[i].text << "\n  and" << alone[i].text;
    slips += columns[i].slips.size();
    for (std::size_t k = 0; k < columns[i].slips.size(); ++k) {
      const engine::Slip& a = columns[i].slips[k];
      const engine::Slip& b = alone[i].slips[k];
      ASSERT_TRUE(a.field == b.field && a.from == b.from && a.to == b.to && a.why == b.why &&
                  a.clears == b.clears)
          << all[i].dump() << columns[i].text << "\n  and" << alone[i].text;
    }
  }
  EXPECT_GT(slips, 1000U);
}

/// Fields in which two orders differ.
engine::FieldSet differences(const Json& a, const Json& b) {
  engine::FieldSet set;
  const Json x = a.flatten();
  const Json y = b.flatten();
  for (const engine::FieldInfo& field : engine::fields()) {
    std::string path = "/" + std::string(field.name);
    std::replace(path.begin(), path.end(), '.', '/');
    if (x.value(path, Json()) != y.value(path, Json())) set.set(index(field.id));
  }
  return set;
}

/// What one rule said of an order.
std::vector<std::string> said_by(const std::string& rule, const Said& said) {
  std::vector<std::string> lines;
  for (const Said::Found& found : said.findings)
    if (found.rule == rule) lines.push_back("finding " + std::to_string(found.clause));
  for (const std::string& line : said.not_assessed)
    if (line.ends_with(" " + rule)) lines.push_back(line);
  std::sort(lines.begin(), lines.end());
  return lines;
}

// Only rules that depend on a changed field are asked again, so what others say must not change.
TEST_F(Defects, ARuleThatDoesNotDependOnTheFieldSaysTheSame) {
  const std::vector<Json> sound = sound_orders();
  const std::vector<Said> before = judge(sound, engine::Mode::Columns);
  const std::vector<Json> wrong = orders();
  const std::vector<Said> after = judge(wrong, engine::Mode::Columns);
  const auto program = shipped_program();
  const engine::slips::Dependence dependence(*program);
  std::size_t compared = 0;
  for (std::size_t i = 0; i < wrong.size(); ++i) {
    const auto first = std::find_if(sound.begin(), sound.end(), [&](const Json& order) {
      return order["order"]["id"] == wrong[i]["order"]["id"];
    });
    ASSERT_NE(first, sound.end());
    engine::FieldSet changed = differences(*first, wrong[i]);
    changed.reset(index(engine::FieldId::PatientId));  // each order has a patient of its own
    const Said& sound_said = before[static_cast<std::size_t>(first - sound.begin())];
    for (std::size_t rule = 0; rule < program->rules.size(); ++rule) {
      if ((dependence.rule[rule] & changed).any()) continue;
      ++compared;
      EXPECT_EQ(said_by(program->rules[rule].name, sound_said),
                said_by(program->rules[rule].name, after[i]))
          << program->rules[rule].name << " " << wrong[i].dump();
    }
  }
  EXPECT_GT(compared, 10000U);
}

/// The order that a slip's text would make, where the slip says all in one field.
bool mended(const Json& order, const engine::Slip& slip, Json& out) {
  if (slip.why.find(';') != std::string::npos) return false;
  out = order;
  rules_tests::set_text(out, std::string(info(slip.field).name), slip.to);
  return true;
}

TEST_F(Defects, WhatASlipSaysHoldsWhenTheOrderIsReadAgain) {
  const std::vector<Json> orders = Defects::orders();
  const std::vector<Said> before = judge(orders, engine::Mode::Columns);
  std::vector<Json> again;
  std::vector<std::pair<std::size_t, const engine::Slip*>> of;
  for (std::size_t i = 0; i < before.size(); ++i) {
    EXPECT_LE(before[i].slips.size(), engine::SlipFinder::kMostSlips);
    for (const engine::Slip& slip : before[i].slips) {
      Json order;
      if (!mended(orders[i], slip, order)) continue;
      order["patient"]["id"] = "SM-" + std::to_string(10000 + again.size());
      again.push_back(std::move(order));
      of.emplace_back(i, &slip);
    }
  }
  const std::vector<Said> after = judge(again, engine::Mode::Columns);
  ASSERT_EQ(after.size(), of.size());
  EXPECT_GT(after.size(), 500U);
  for (std::size_t i = 0; i < after.size(); ++i) {
    const auto& [number, slip] = of[i];
    const Said& first = before[number];
    for (const auto& finding : after[i].findings) {
      const bool cleared =
          std::find(slip->clears.begin(), slip->clears.end(), finding.rule) != slip->clears.end();
      const bool known =
          std::find(first.findings.begin(), first.findings.end(), finding) != first.findings.end();
      const bool note = finding.grade == engine::Grade::Note;
      EXPECT_TRUE(note || (known && !cleared))
          << info(slip->field).name << " " << slip->from << " -> " << slip->to << first.text
          << "\n  again:" << after[i].text;
    }
    for (const std::string& line : after[i].not_assessed) {
      EXPECT_NE(std::find(first.not_assessed.begin(), first.not_assessed.end(), line),
                first.not_assessed.end())
          << info(slip->field).name << " -> " << slip->to << ": " << line << first.text;
    }
  }
}

}  // namespace
}  // namespace meniscus
