// Where the verdicts of a run go, by --to.
#pragma once

#include <memory>
#include <string>

#include "adapters/cli/arguments.hpp"
#include "adapters/cli/console.hpp"
#include "adapters/hl7v2/hl7_ack_sink.hpp"
#include "adapters/report/report_writer.hpp"
#include "engine/ports/verdict_sink.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters {

struct Sinks {
  std::unique_ptr<engine::VerdictSink> sink;  // never null
  ReportWriter* report = nullptr;             // the same, when it is a report
};

/// How messages are answered, by --on-hold and --fail-at.
hl7v2::AckPolicy ack_policy(const Arguments& arguments);

/// `console` and `program` outlive the sinks.
Sinks make_sinks(const Arguments& arguments, const Console& console,
                 const engine::Program& program);

}  // namespace meniscus::adapters
