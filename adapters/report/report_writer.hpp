// What every report has beside the verdicts: the run that they belong to.
//
// Order:    begin(), then for each input begin_input() and its verdicts, then finish().
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

class ReportWriter : public engine::VerdictSink {
 public:
  virtual void begin(const Run& run) = 0;
  virtual void begin_input(std::string_view name) = 0;
  /// What the input just read could never answer, by its profile or its format.
  virtual void never_assessed(const std::vector<engine::NotAssessed>& /*missing*/) {}
  /// Hands out what has been written so far (a live feed waits for it).
  virtual void flush() = 0;
  /// True once the output can take no more.
  [[nodiscard]] virtual bool failed() const = 0;
};

}  // namespace meniscus::adapters
