// Contract: see sinks.hpp.
#include "adapters/cli/sinks.hpp"

#include <utility>

#include "adapters/fhir/outcome_writer.hpp"
#include "adapters/report/jsonl_writer.hpp"
#include "adapters/report/junit_writer.hpp"
#include "adapters/report/lines_writer.hpp"
#include "adapters/report/sarif_writer.hpp"
#include "adapters/report/text_writer.hpp"

namespace meniscus::adapters {

hl7v2::AckPolicy ack_policy(const Arguments& arguments) {
  const auto on_hold = arguments.on_hold == OnHold::Ae ? hl7v2::OnHold::Ae : hl7v2::OnHold::Ua;
  return {on_hold, arguments.fail_at};
}

namespace {
std::unique_ptr<engine::VerdictSink> make_answers(const Arguments& arguments,
                                                  const Console& console,
                                                  const engine::Program& program) {
  return std::make_unique<hl7v2::Hl7AckSink>(
      ack_policy(arguments),
      [write = console.out](std::string_view answer) { return write(answer).has_value(); },
      console.message_time, &program);
}

template <class Writer>
Sinks report_sinks(std::unique_ptr<Writer> writer) {
  Sinks sinks;
  sinks.report = writer.get();
  sinks.sink = std::move(writer);
  return sinks;
}
}  // namespace

Sinks make_sinks(const Arguments& arguments, const Console& console,
                 const engine::Program& program) {
  switch (arguments.to) {
    case ToFormat::Text:
      return report_sinks(std::make_unique<TextWriter>(
          console.out, console.colour ? Emphasis::terminal() : Emphasis::none()));
    case ToFormat::JsonLines:
      return report_sinks(std::make_unique<JsonLinesWriter>(console.out, program.hash));
    case ToFormat::Fhir:
      return report_sinks(std::make_unique<fhir::OutcomeWriter>(console.out));
    case ToFormat::Sarif:
      return report_sinks(std::make_unique<SarifWriter>(console.out, program));
    case ToFormat::Junit:
      return report_sinks(std::make_unique<JunitWriter>(console.out, arguments.fail_at));
    case ToFormat::Lines:
      return report_sinks(std::make_unique<LinesWriter>(console.out));
    case ToFormat::Hl7:
      break;
  }
  return {make_answers(arguments, console, program), nullptr};
}

}  // namespace meniscus::adapters
