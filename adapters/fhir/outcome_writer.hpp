// Verdicts as FHIR R4 OperationOutcome: one resource an order, one a line, in input order.
//
// First:    the first issue says which order it is and what came of it, with the outcome's severity
//           and the place of the order; then one issue each for a finding, for what was not
//           assessed, and for what is muted or answered.
// Clear:    one issue, information and informational; it does not say that the order is approved.
// Severity: unreadable and internal fatal; hold, clarify and an incomplete outcome error; caution
//           warning; the rest information (docs/formats-fhir.md has the table).
// Once:     what an input never carries is one more line at its end, which names no order.
// Source:   FHIR R4, OperationOutcome; value sets issue-severity, issue-type.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/report/report_writer.hpp"

namespace meniscus::adapters::fhir {

class OutcomeWriter final : public ReportWriter {
 public:
  explicit OutcomeWriter(WriteBytes write) : output_(std::move(write)) {}

  void begin(const Run& run) override;
  void begin_input(std::string_view name) override { input_ = name; }
  void write(const engine::Verdict& verdict, const engine::OrderBlock& block,
             const engine::OrderSource& source) override;
  void never_assessed(const std::vector<engine::NotAssessed>& missing) override;
  void flush() override { output_.flush(); }
  engine::Status finish() override { return output_.finish(); }
  [[nodiscard]] bool failed() const override { return !output_.status(); }

 private:
  Output output_;
  std::string run_;  // the rules' hash and their local changes
  std::string input_;
  std::size_t inputs_ = 1;
};

}  // namespace meniscus::adapters::fhir
