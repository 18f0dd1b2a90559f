// A checker that has judged hundreds of orders says of the next one what a new checker says, to the
// byte of the report, slips and their questions too: nothing of one order reaches another but by
// the patient's history.
//
// Checked against a checker of its own for every order of a part of the synthetic year, whose
// damaged orders are where the most is said.
#include <gtest/gtest.h>

#include <memory>
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

std::vector<std::string> orders() {
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

class Remembered : public ::testing::TestWithParam<engine::Mode> {};

TEST_P(Remembered, NothingOfOneOrderReachesAnother) {
  const std::vector<std::string> texts = orders();
  std::string all;
  for (const std::string& text : texts)
    all += text;
  engine::CheckOptions options;
  options.today = 20514;
  options.mode = GetParam();
  engine::Checker checker(shipped(), options);
  engine::History history = new_history();
  const std::string remembered = report(checker, history, all, 0);

  engine::History same = new_history();
  std::size_t at = 0;
  std::size_t with_slips = 0;
  for (std::size_t i = 0; i < texts.size(); ++i) {
    engine::Checker fresh(shipped(), options);
    const std::string said = report(fresh, same, texts[i], i);
    ASSERT_EQ(said, remembered.substr(at, said.size())) << "order " << i;
    at += said.size();
    with_slips += said.find("\"slips\":[{") != std::string::npos ? 1 : 0;
  }
  EXPECT_EQ(at, remembered.size());
  EXPECT_GT(with_slips, 20U);
}

INSTANTIATE_TEST_SUITE_P(Modes, Remembered,
                         ::testing::Values(engine::Mode::Columns, engine::Mode::OneByOne),
                         [](const auto& mode) {
                           return mode.param == engine::Mode::Columns ? "Columns" : "OneByOne";
                         });

}  // namespace
}  // namespace meniscus
