// Contract: see replay_output.hpp.
#include "adapters/cli/replay_output.hpp"

#include "adapters/replay/summary_checks.hpp"
#include "adapters/replay/summary_rows.hpp"
#include "adapters/replay/summary_text.hpp"
#include "adapters/replay/work_folder.hpp"
#include "adapters/replay_report/html_report.hpp"

namespace meniscus::adapters {

namespace {
std::string as_asked(const replay::Summary& summary, const Arguments& arguments) {
  const ReplayArguments& replay = arguments.replay;
  switch (replay.to) {
    case ReplayTo::Text:
      return replay::summary_text(summary);
    case ReplayTo::Json:
      return replay::summary_json(summary, replay.show_patients);
    case ReplayTo::JsonLines:
      return replay::summary_jsonl(summary, replay.show_patients);
    case ReplayTo::Csv:
      return replay::summary_csv(summary);
    case ReplayTo::Sarif:
      return replay::summary_sarif(summary);
    case ReplayTo::Junit:
      return replay::summary_junit(summary);
  }
  return {};
}

}  // namespace

ExitStatus write_summary(const replay::Summary& summary, const Arguments& arguments,
                         const Console& console) {
  const ReplayArguments& replay = arguments.replay;
  const engine::Status said = console.out(as_asked(summary, arguments));
  if (!said) {
    console.complain(said.error().message);
    return ExitStatus::Internal;
  }
  if (replay.report.empty()) return ExitStatus::Clean;
  const std::string report =
      replay_report::html_report(replay::summary_json(summary, replay.show_patients));
  const engine::Status written = replay::write_private_file(replay.report, report);
  if (written) return ExitStatus::Clean;
  console.complain(written.error().message);
  return ExitStatus::Internal;
}

}  // namespace meniscus::adapters
