// Verdicts as lines that editors jump to: `file:line:column: grade: message [rule]`.
//
// Source:  GNU Coding Standards, "Formatting Error Messages".  Columns count characters, as in
// every
//          report; a tab is one.
// Says:    findings, orders that could not be checked to the end, what was not assessed, what is
//          outside; nothing of a clear or recorded order, and nothing that is muted or answered.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "adapters/report/report_writer.hpp"

namespace meniscus::adapters {

class LinesWriter final : public ReportWriter {
 public:
  explicit LinesWriter(WriteBytes write) : output_(std::move(write)) {}

  void begin(const Run& /*run*/) override {}
  void begin_input(std::string_view name) override;
  void write(const engine::Verdict& verdict, const engine::OrderBlock& block,
             const engine::OrderSource& source) override;
  void never_assessed(const std::vector<engine::NotAssessed>& missing) override;
  void flush() override { output_.flush(); }
  engine::Status finish() override { return output_.finish(); }
  [[nodiscard]] bool failed() const override { return !output_.status(); }

 private:
  Output output_;
  std::string file_;
};

}  // namespace meniscus::adapters
