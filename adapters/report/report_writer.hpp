// What every report has beside the verdicts: the run that they belong to.
//
// Order:    begin(), then for each input begin_input() and its verdicts, then end_run() and
//           finish().  not_opened() stands where an input's verdicts would.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/report/output.hpp"
#include "engine/ports/verdict_sink.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

/// What is said once a run.
struct Run {
  std::size_t inputs = 1;
  std::string rules;                                  // the program's hash
  std::span<const engine::LocalChange> changes = {};  // owned by the program
};

/// How a run ended, for reports that say so.
struct RunEnd {
  int exit_status = 0;
  bool broken = false;            // an error of ours, or not all inputs could be opened
  std::vector<std::string> said;  // what else concerns the whole run, one sentence each
};

class ReportWriter : public engine::VerdictSink {
 public:
  virtual void begin(const Run& run) = 0;
  virtual void begin_input(std::string_view name) = 0;
  /// What an input can never answer, by its profile or its format: behind its verdicts, or before
  /// them where says_never_assessed_first().
  [[nodiscard]] virtual bool says_never_assessed_first() const { return false; }
  virtual void never_assessed(const std::vector<engine::NotAssessed>& /*missing*/) {}
  /// An input that could not be opened: one sentence that names it.
  virtual void not_opened(std::string_view /*sentence*/) {}
  /// After the last verdict, before finish().
  virtual void end_run(const RunEnd& /*end*/) {}
  /// Hands out what has been written so far (a live feed waits for it).
  virtual void flush() = 0;
  /// True once the output can take no more.
  [[nodiscard]] virtual bool failed() const = 0;
};

}  // namespace meniscus::adapters
