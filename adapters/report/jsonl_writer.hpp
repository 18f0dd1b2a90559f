// Verdicts as JSON Lines: one object an order, in input order.
//
// Contract: docs/schemas/verdict.schema.json.  Keys always stand in the order shown there.
// Optional: `reason` (outside, recorded), `trial` (what trial rules found), `changes` (to the
//           rules, the same in every verdict of a run), `never_assessed` (what the input never
//           carries, in its first verdict), `from` (a value taken out of free text),
//           `place` (a finding that blames no field), `file` (a run over several inputs).
// Speed:    one buffer, no tree in between; a clear order is a few appends and no allocation.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/report/report_writer.hpp"

namespace meniscus::adapters {

class JsonLinesWriter final : public ReportWriter {
 public:
  /// `rules_hash` is the program's.
  JsonLinesWriter(WriteBytes write, std::string_view rules_hash);

  void begin(const Run& run) override;
  void begin_input(std::string_view name) override;
  [[nodiscard]] bool says_never_assessed_first() const override { return true; }
  void never_assessed(const std::vector<engine::NotAssessed>& missing) override;
  void write(const engine::Verdict& verdict, const engine::OrderBlock& block,
             const engine::OrderSource& source) override;
  void flush() override { output_.flush(); }
  engine::Status finish() override { return output_.finish(); }
  [[nodiscard]] bool failed() const override { return !output_.status(); }

 private:
  /// `,"as_of":"2026-03-02"`.  The days of a file come again and again.
  const std::string& as_of(std::int64_t day);
  struct RuleText {
    std::string rule;
    std::string cite;
    std::string head;  // up to the grade
    std::string tail;  // the citation
  };
  const RuleText& text_of(const engine::Finding& finding);
  void append_finding(const engine::Finding& finding, unsigned lane,
                      const engine::OrderBlock& block, const engine::OrderSource& source);

  Output output_;
  std::string file_tail_;  // `,"file":"a.json"`, or empty
  std::string never_;      // `,"never_assessed":[...]` of the input, until it is written; or empty
  std::string changes_;    // `,"changes":[...]` of the run, or empty
  std::string rules_;
  struct Day {
    std::int64_t number = 0;
    std::string text;  // empty: nothing yet
  };
  static constexpr std::size_t kDays = 128;
  std::array<Day, kDays> days_;
  static constexpr std::size_t kRules = 256;
  std::vector<RuleText> rules_seen_ =
      std::vector<RuleText>(kRules);  // by where the rule's name stands
  engine::Place place_;               // reused
  bool several_inputs_ = false;
};

}  // namespace meniscus::adapters
