// Contract: see run.hpp.
#include "adapters/cli/run.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <string_view>
#include <utility>

#include "adapters/cli/answer_command.hpp"
#include "adapters/cli/arguments.hpp"
#include "adapters/cli/baseline_command.hpp"
#include "adapters/cli/check_command.hpp"
#include "adapters/cli/config_command.hpp"
#include "adapters/cli/configured.hpp"
#include "adapters/cli/explain_command.hpp"
#include "adapters/cli/help.hpp"
#include "adapters/cli/history_command.hpp"
#include "adapters/cli/log.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/quarantine_command.hpp"
#include "adapters/cli/replay_command.hpp"
#include "adapters/cli/rules_command.hpp"
#include "adapters/cli/serve_command.hpp"
#include "adapters/cli/try_command.hpp"

namespace meniscus::adapters {

namespace {

using Run = ExitStatus (*)(const Arguments& arguments, const Console& console, const Log& log);

/// A command that has nothing to log.
template <ExitStatus (*kRun)(const Arguments&, const Console&)>
ExitStatus without_log(const Arguments& arguments, const Console& console, const Log& /*log*/) {
  return kRun(arguments, console);
}

ExitStatus run_help(const Arguments& arguments, const Console& console) {
  console.say(help_page(arguments.help_topic));
  return ExitStatus::Clean;
}

ExitStatus run_version(const Arguments& /*arguments*/, const Console& console) {
  console.say(version_line());
  return ExitStatus::Clean;
}

/// Mistakes of meniscus.json come one a line.
void complain_lines(std::string_view lines, const Console& console) {
  while (!lines.empty()) {
    const std::size_t end = std::min(lines.find('\n'), lines.size());
    console.complain(lines.substr(0, end));
    lines.remove_prefix(std::min(end + 1, lines.size()));
  }
}

constexpr auto kRuns = std::to_array<std::pair<Command, Run>>({
    {Command::Help, without_log<run_help>},
    {Command::Version, without_log<run_version>},
    {Command::Check, run_check},
    {Command::Config, without_log<run_config>},
    {Command::Serve, run_serve},
    {Command::Replay, run_replay},
    {Command::ReplayMerge, without_log<run_replay_merge>},
    {Command::ReplayLabels, without_log<run_replay_labels>},
    {Command::Explain, without_log<run_explain>},
    {Command::Answer, without_log<run_answer>},
    {Command::Answers, without_log<run_answers>},
    {Command::RulesLint, without_log<run_rules_lint>},
    {Command::RulesExplainCode, without_log<run_rules_explain_code>},
    {Command::RulesTest, without_log<run_rules_test>},
    {Command::RulesCase, without_log<run_rules_case>},
    {Command::RulesList, without_log<run_rules_list>},
    {Command::RulesShow, without_log<run_rules_show>},
    {Command::RulesTry, without_log<run_rules_try>},
    {Command::RulesPage, without_log<run_rules_page>},
    {Command::RulesFormat, without_log<run_rules_format>},
    {Command::RulesCompare, without_log<run_rules_compare>},
    {Command::RulesCompile, without_log<run_rules_compile>},
    {Command::HistoryList, without_log<run_history_list>},
    {Command::HistoryExport, without_log<run_history_export>},
    {Command::HistoryImport, without_log<run_history_import>},
    {Command::HistoryMerge, without_log<run_history_merge>},
    {Command::HistoryPrune, without_log<run_history_prune>},
    {Command::QuarantineList, without_log<run_quarantine_list>},
    {Command::QuarantineRetry, run_quarantine_retry},
    {Command::QuarantineDiscard, without_log<run_quarantine_discard>},
    {Command::ProfileLint, without_log<run_profile_lint>},
    {Command::ProfileLearn, without_log<run_profile_learn>},
    {Command::BaselinePrune, without_log<run_baseline_prune>},
});

ExitStatus run_words(const std::vector<std::string>& arguments, const Console& console) {
  const auto parsed = parse_configured(arguments, {console.folder, console.variable});
  if (!parsed) {
    complain_lines(parsed.error().message, console);
    return ExitStatus::Usage;
  }
  const Log log(parsed->log, console);
  for (const auto& [command, run] : kRuns)
    if (command == parsed->command) return run(*parsed, console, log);
  return ExitStatus::Internal;
}

}  // namespace

ExitStatus run_program(const std::vector<std::string>& arguments, const Console& console) {
  // The one place where what a command said in vain makes its status, whichever command it was.
  std::optional<engine::Error> unwritten;
  Console heard = console;
  heard.out = [&](std::string_view bytes) {
    engine::Status written = console.out(bytes);
    if (!written && !unwritten) unwritten = written.error();
    return written;
  };
  const ExitStatus status = run_words(arguments, heard);
  if (!unwritten || status == ExitStatus::Internal) return status;  // who ends with it has said why
  console.complain(unwritten->message);
  return ExitStatus::Internal;
}

}  // namespace meniscus::adapters
