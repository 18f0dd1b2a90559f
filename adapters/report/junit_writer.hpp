// Verdicts as JUnit XML: a testsuite an input, a testcase an order.
//
// Source:   no standard; the form that build servers read.  Attributes are those of the schema of
//           the Jenkins xUnit plug-in (junit-10.xsd), from memory; junitparser reads it in a test.
// Failure:  an order that counts (--fail-at); its text has every item as `--to lines` has it.
// Error:    what cannot be read as an order, an error of ours, an input that cannot be opened.
// Skipped:  outside and recorded orders, with the reason.
// Below --fail-at: passed, with the items in `system-out`.
// Bytes:    what XML 1.0 has no character for becomes a blank or U+FFFD, so the file can be parsed.
// Memory:   one input's testcases are held, since its counts stand before them.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/report/data_items.hpp"
#include "adapters/report/report_writer.hpp"

namespace meniscus::adapters {

class JunitWriter final : public ReportWriter {
 public:
  JunitWriter(WriteBytes write, engine::Outcome fail_at)
      : output_(std::move(write)), fail_at_(fail_at) {}

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
  struct Suite {
    std::string name;
    std::string cases;
    std::string said;  // of the whole input
    std::uint64_t tests = 0, failures = 0, errors = 0, skipped = 0;
  };
  void begin_case(std::string_view name);
  void append_problem(std::string_view element, const engine::Verdict& verdict,
                      const std::vector<DataItem>& items);
  [[nodiscard]] std::string lines_of(const std::vector<DataItem>& items) const;
  void end_suite();

  Output output_;
  engine::Outcome fail_at_;
  Suite suite_;
  bool open_ = false;  // a suite is
};

/// Appends text for XML 1.0, in an element or a quoted attribute.  Line ends stay.
void append_xml(std::string& out, std::string_view text);

}  // namespace meniscus::adapters
