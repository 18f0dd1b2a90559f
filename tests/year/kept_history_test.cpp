// History that outlives the program: an order that was kept reads back as the order that it was,
// and a run that goes on where another ended says what one long run would have said.
#include "adapters/history/kept_history.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "adapters/history/stored_order.hpp"
#include "adapters/input/byte_sources.hpp"
#include "adapters/json/json_source.hpp"
#include "adapters/report/jsonl_writer.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "engine/eval/checker.hpp"
#include "tests/support/test_folder.hpp"
#include "tests/year/year.hpp"

namespace meniscus {
namespace {

namespace fs = std::filesystem;
using engine::FieldId;
using engine::OrderBlock;
using engine::Value;

constexpr std::int64_t kToday = 20514;  // 2026-03-02; the orders carry dates of their own

std::shared_ptr<const engine::Program> shipped() {
  static const auto kProgram =
      adapters::load_rules({MENISCUS_SOURCE_DIR "/rules"}, adapters::re2_patterns()).program;
  return kProgram;
}

std::vector<std::string> year_lines(std::size_t orders) {
  year::YearOptions options;
  options.seed = 11;
  options.orders = orders;
  year::Year year(options);
  year::Line line;
  std::vector<std::string> lines;
  while (year.next(line))
    lines.push_back(line.text);
  return lines;
}

std::string joined(const std::vector<std::string>& lines, std::size_t from, std::size_t to) {
  std::string text;
  for (std::size_t i = from; i < to; ++i)
    text += lines[i];
  return text;
}

template <class Use>
void each_block(const std::string& text, Use&& use) {
  const engine::Feed feed;
  const auto source =
      adapters::make_json_source({"-", adapters::memory_bytes(text), 0}, {shipped().get(), &feed});
  OrderBlock block;
  while (source->next(block))
    use(block, *source);
}

/// What the writer leaves out on purpose: free texts, people, lists, and the age of who has a birth
/// date; and the date that it adds.
bool may_differ(const OrderBlock& block, unsigned lane, FieldId field) {
  const engine::FieldKind kind = engine::info(field).kind;
  const bool left_out = field == FieldId::OrderIndication || field == FieldId::OrderPrescriber ||
                        kind == engine::FieldKind::Text || engine::is_list(kind);
  const bool aged = field == FieldId::PatientAge && block.value(lane, FieldId::PatientBorn).known();
  const bool added = field == FieldId::OrderPlaced && !block.value(lane, field).known();
  return left_out || aged || added;
}

TEST(StoredOrder, ReadsBackAsTheOrderThatItWas) {
  const std::vector<std::string> lines = year_lines(2000);
  std::size_t values = 0;
  adapters::StoredOrderWriter writer;  // one for all, as a store has it
  each_block(joined(lines, 0, lines.size()), [&](const OrderBlock& block, auto&) {
    std::string kept;
    for (unsigned lane = 0; lane < block.size(); ++lane) {
      std::string alone;
      adapters::StoredOrderWriter().append(alone, block, lane, kToday);
      const std::size_t before = kept.size();
      writer.append(kept, block, lane, kToday);
      ASSERT_EQ(kept.substr(before), alone) << "what it remembers of others changes nothing";
      kept += '\n';
    }
    unsigned first = 0;
    each_block(kept, [&](const OrderBlock& again, auto&) {
      ASSERT_TRUE(again.doubts().empty()) << again.doubts().front().reason;
      for (unsigned i = 0; i < again.size(); ++i) {
        const unsigned lane = first + i;
        ASSERT_EQ(again.record(i).kind, block.record(lane).kind);
        for (const engine::FieldInfo& field : engine::fields()) {
          if (may_differ(block, lane, field.id)) continue;
          const Value was = block.value(lane, field.id);
          const Value is = again.value(i, field.id);
          ASSERT_EQ(is.state, was.state) << field.name << " of " << block.record(lane).text;
          if (!was.known()) continue;
          ++values;
          ASSERT_EQ(engine::compare(is.number, was.number), 0) << field.name;
          ASSERT_EQ(is.aux, was.aux) << field.name << " of " << block.record(lane).text;
          ASSERT_EQ(is.text, was.text) << field.name;
        }
      }
      first += again.size();
    });
    ASSERT_EQ(first, block.size());
  });
  EXPECT_GT(values, 40000U);
}

/// The verdicts of a run, one a line; with `kept`, as a program would that finds its history there.
std::vector<std::string> judge(const std::string& text, adapters::KeptHistory* kept,
                               double since = engine::History::kAlways) {
  engine::CheckOptions options;
  options.today = kToday;
  options.slips = false;
  options.history = engine::HistoryScope::Store;
  engine::Checker checker(shipped(), options);
  engine::History history(shipped()->look_back, shipped()->history_fields,
                          shipped()->history_written);
  const engine::Days days{std::nullopt, kToday};
  history.set_since(since);
  if (kept != nullptr) {
    EXPECT_TRUE(kept->load(shipped(), kToday, history));
  }
  std::vector<std::string> said;
  each_block(text, [&](const OrderBlock& block, engine::OrderSource&) {
    if (kept != nullptr) {
      ASSERT_TRUE(kept->keep(block, days, history));
    }
    checker.check(block, history, [&](const engine::Verdict& verdict) {
      std::string line(verdict.order);
      line.append(" ").append(engine::name(verdict.outcome));
      for (const engine::Finding& finding : verdict.findings)
        line.append(" | ").append(finding.rule).append(": ").append(finding.say);
      for (const engine::NotAssessed& missing : verdict.not_assessed)
        line.append(" ? ").append(missing.missing);
      said.push_back(line);
    });
  });
  return said;
}

class KeptHistory : public ::testing::Test {
 public:
  [[nodiscard]] std::unique_ptr<adapters::KeptHistory> open() const {
    auto kept = adapters::KeptHistory::open("sqlite:" + path);
    EXPECT_TRUE(kept) << kept.error().message;
    return std::move(*kept);
  }
  testing::TestFolder folder;
  std::string path = folder / "history.db";
};

TEST_F(KeptHistory, GoesOnWhereTheLastRunEnded) {
  const std::vector<std::string> lines = year_lines(1200);
  double since = 0;
  each_block(lines.front(), [&](const OrderBlock& block, auto&) {
    since = engine::facts_of(block, 0, {std::nullopt, kToday}).today.number;
  });
  const std::vector<std::string> whole = judge(joined(lines, 0, lines.size()), nullptr, since);
  std::vector<std::string> parts;
  std::size_t from = 0;
  for (const std::size_t to : {lines.size() / 3, lines.size() / 2, lines.size()}) {
    const auto kept = open();
    const auto said = judge(joined(lines, from, to), kept.get());
    parts.insert(parts.end(), said.begin(), said.end());
    from = to;
  }
  ASSERT_EQ(parts.size(), whole.size());
  std::size_t looked_back = 0;
  for (std::size_t i = 0; i < whole.size(); ++i) {
    ASSERT_EQ(parts[i], whole[i]) << "verdict " << i;
    if (whole[i].find("history before") != std::string::npos) ++looked_back;
  }
  EXPECT_GT(looked_back, 10U) << "rules look further back than the store reaches";
  EXPECT_LT(looked_back, whole.size() - 100);
}

/// A sender that got no answer sends everything again, what was given and stopped too.
TEST_F(KeptHistory, WhatIsSentAgainGetsTheSameVerdictAndChangesNothing) {
  const std::vector<std::string> lines = year_lines(600);
  const std::size_t half = lines.size() / 2;
  judge(joined(lines, 0, half), open().get());
  const std::vector<std::string> once = judge(joined(lines, half, half + 40), open().get());
  EXPECT_EQ(judge(joined(lines, half, half + 40), open().get()), once);
  const std::vector<std::string> rest = judge(joined(lines, half + 40, lines.size()), open().get());
  fs::remove(path);
  judge(joined(lines, 0, half + 40), open().get());
  EXPECT_EQ(judge(joined(lines, half + 40, lines.size()), open().get()), rest);
}

TEST_F(KeptHistory, SaysWhatItCannotOpen) {
  const auto odd = adapters::KeptHistory::open("history.db");
  ASSERT_FALSE(odd);
  EXPECT_EQ(odd.error().code, engine::Errc::Usage);
  EXPECT_EQ(odd.error().message,
            "`history.db` is no history; write sqlite:PATH, or postgresql: and where the database "
            "is");
}

}  // namespace
}  // namespace meniscus
