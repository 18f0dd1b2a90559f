// Verdicts for people.
//
//   [====] hold        A-102  patient SM-0012
//      1  [====] hold     50 mg at 200 mg/mL is 0.25 mL; the order says 0.5 mL.
//             ask   Which of the dose, the strength and the volume is meant?
//             rule  dose-volume-agreement
//             cite  common practice
//             orders.ndjson:12:30  volume
//             | "dose":"50 mg","volume":"0.5 mL"
//             |                         ^^^^^^^^
//
// Groups:   findings that blame the same field stand under one number, with the places once.
// Safe:     text from the input cannot carry control characters to the terminal.
// End:      counts by outcome, what the feed never carries, local changes, trials, the caution.
#pragma once

#include <array>
#include <cstddef>
#include <map>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/report/marks.hpp"
#include "adapters/report/report_writer.hpp"

namespace meniscus::adapters {

class TextWriter final : public ReportWriter {
 public:
  TextWriter(WriteBytes write, const Emphasis& emphasis);

  void begin(const Run& run) override;
  void begin_input(std::string_view name) override;
  void write(const engine::Verdict& verdict, const engine::OrderBlock& block,
             const engine::OrderSource& source) override;
  void never_assessed(const std::vector<engine::NotAssessed>& missing) override;
  void flush() override { output_.flush(); }
  engine::Status finish() override;
  [[nodiscard]] bool failed() const override { return !output_.status(); }

 private:
  void head(const engine::Verdict& verdict, const engine::OrderBlock& block,
            const engine::OrderSource& source);
  void finding(const engine::Finding& finding, bool first_of_group);
  void places(const engine::Verdict& verdict, std::size_t first, std::size_t end,
              const engine::OrderBlock& block, const engine::OrderSource& source);
  void place(const engine::Place& place, std::string_view field, bool from_text);
  void excerpt(const engine::Place& place);
  void slips(const engine::Verdict& verdict);
  void not_assessed(const engine::Verdict& verdict);
  void answered(const engine::Verdict& verdict);
  void muted(const engine::Verdict& verdict);
  void trials();
  void summary();
  void never_carried();

  Output output_;
  Emphasis emphasis_;
  std::string rules_;
  std::span<const engine::LocalChange> changes_;
  std::vector<std::size_t> on_trial_;    // orders that a trial rule spoke on, by its change
  std::string text_;                     // scratch
  std::array<std::size_t, 8> counts_{};  // by Outcome
  std::size_t orders_ = 0;
  bool several_inputs_ = false;
  bool after_details_ = false;  // the order before had lines of its own
  engine::HistoryScope history_ = engine::HistoryScope::Input;
  std::map<std::string, std::set<std::string_view>, std::less<>> never_;  // by what is missing
};

}  // namespace meniscus::adapters
