// Contract: see run.hpp.
#include "adapters/cli/run.hpp"

#include "adapters/cli/answer_command.hpp"
#include "adapters/cli/arguments.hpp"
#include "adapters/cli/check_command.hpp"
#include "adapters/cli/explain_command.hpp"
#include "adapters/cli/help.hpp"
#include "adapters/cli/log.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/rules_command.hpp"
#include "adapters/cli/serve_command.hpp"
#include "adapters/cli/try_command.hpp"

namespace meniscus::adapters {

ExitStatus run_program(const std::vector<std::string>& arguments, const Console& console) {
  const auto parsed = parse_arguments(arguments);
  if (!parsed) {
    console.complain(parsed.error().message);
    return ExitStatus::Usage;
  }
  const Log log(parsed->log, console);
  switch (parsed->command) {
    case Command::Help:
      console.say(help_page(parsed->help_topic));
      return ExitStatus::Clean;
    case Command::Version:
      console.say(version_line());
      return ExitStatus::Clean;
    case Command::Check:
      return run_check(*parsed, console, log);
    case Command::Serve:
      return run_serve(*parsed, console, log);
    case Command::Explain:
      return run_explain(*parsed, console);
    case Command::Answer:
      return run_answer(*parsed, console);
    case Command::Answers:
      return run_answers(*parsed, console);
    case Command::RulesLint:
      return run_rules_lint(*parsed, console);
    case Command::RulesExplainCode:
      return run_rules_explain_code(*parsed, console);
    case Command::RulesTest:
      return run_rules_test(*parsed, console);
    case Command::RulesCase:
      return run_rules_case(*parsed, console);
    case Command::RulesList:
      return run_rules_list(*parsed, console);
    case Command::RulesShow:
      return run_rules_show(*parsed, console);
    case Command::RulesTry:
      return run_rules_try(*parsed, console);
    case Command::RulesPage:
      return run_rules_page(*parsed, console);
    case Command::RulesFormat:
      return run_rules_format(*parsed, console);
    case Command::RulesCompare:
      return run_rules_compare(*parsed, console);
    case Command::ProfileLint:
      return run_profile_lint(*parsed, console);
    case Command::ProfileLearn:
      return run_profile_learn(*parsed, console);
  }
  return ExitStatus::Internal;
}

}  // namespace meniscus::adapters
