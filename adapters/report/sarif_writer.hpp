// Verdicts as one SARIF log: one run, a result for each item of each order, in input order.
//
// Source:   OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0.
// Results:  kind `fail` with a level for findings and orders that could not be checked to the end;
//           kind `open` for what was not assessed, `notApplicable` for what is no injection, both
//           with level `none` (section 3.27.10).  What is muted or answered is suppressed.
// Places:   columns count characters (`unicodeCodePoints`); a finding has the region of the first
//           field that it blames, the others are related locations.
// Speed:    results are written as they come, one a line; rules and the run's end follow them.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/report/data_items.hpp"
#include "adapters/report/report_writer.hpp"

namespace meniscus::adapters {

class SarifWriter final : public ReportWriter {
 public:
  /// `program` outlives the writer.
  SarifWriter(WriteBytes write, const engine::Program& program);

  void begin(const Run& run) override;
  void begin_input(std::string_view name) override;
  void write(const engine::Verdict& verdict, const engine::OrderBlock& block,
             const engine::OrderSource& source) override;
  void never_assessed(const std::vector<engine::NotAssessed>& missing) override;
  void not_opened(std::string_view sentence) override;
  void end_run(const RunEnd& end) override;
  void flush() override { output_.flush(); }
  engine::Status finish() override { return output_.finish(); }
  [[nodiscard]] bool failed() const override { return !output_.status(); }

 private:
  void append_result(const DataItem& item, std::string_view order);
  void append_location(const PlacedField* field, const engine::Place& place);
  void append_related(const DataItem& item);
  /// The place of a rule among those that occur.
  std::size_t rule_index(std::string_view rule);
  void append_tool();
  void append_descriptor(std::string_view rule);
  void notify(std::string_view id, std::string_view level, std::string_view sentence);

  Output output_;
  const engine::Program& program_;
  std::map<std::string, std::size_t, std::less<>> rule_indexes_;
  std::vector<std::string> rules_;  // in the order in which they occur
  std::string notifications_;       // of the invocation, as JSON
  std::string settings_;            // notifications about local changes, as JSON
  std::string file_;
  std::string uri_;
  bool first_result_ = true;
};

/// An input as a URI reference: relative as it is, absolute with `file://`; RFC 3986.
std::string uri_of(std::string_view settled_name);

}  // namespace meniscus::adapters
