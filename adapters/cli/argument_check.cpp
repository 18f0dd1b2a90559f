// Contract: see argument_check.hpp.
#include "adapters/cli/argument_check.hpp"

#include <algorithm>

#include "adapters/cli/option_values.hpp"
#include "engine/base/ascii.hpp"

namespace meniscus::adapters {

namespace {
using engine::Status;

class ArgumentCheck {
 public:
  ArgumentCheck(const Arguments& arguments, const std::string& path, bool says_window)
      : arguments_(arguments), path_(path), says_window_(says_window) {}

  /// Of `check`: what it does as the service does is about HL7 messages.
  [[nodiscard]] Status check_orders() const {
    const bool hl7 = arguments_.to == ToFormat::Hl7;
    if (hl7 && arguments_.on_hold == OnHold::NotSaid) {
      return usage(
          "--to hl7 needs a choice: write --on-hold ua (accepted, the order refused) or --on-hold "
          "ae (application error)");
    }
    if (!hl7 && arguments_.on_hold != OnHold::NotSaid) {
      return usage("--on-hold answers HL7 messages; write --to hl7 with it");
    }
    if (says_window_ && (!hl7 || arguments_.history.empty())) {
      return usage(
          "--resend-window is about answers that are kept; write --to hl7 and --history with it");
    }
    if (!arguments_.quarantine.empty() && (!hl7 || arguments_.from != FromFormat::Hl7)) {
      return usage(
          "--quarantine keeps HL7 messages that are refused; write --from hl7 and --to hl7 with "
          "it");
    }
    return check_baseline();
  }

  /// Nothing is hidden from those who act on orders: `clear` must not mean `known`.
  [[nodiscard]] Status check_baseline() const {
    const bool none = arguments_.baseline.empty() && arguments_.write_baseline.empty();
    if (none || is_data_check(arguments_.to)) return check_files();
    return usage(
        "a baseline hides findings, so no report for those who act on orders takes one; write "
        "--to lines, --to sarif or --to junit with it");
  }

  [[nodiscard]] Status check_serve() const {
    if (arguments_.on_hold == OnHold::NotSaid) {
      return usage(
          "the service needs a choice of how an order that must not go through is answered: write "
          "--on-hold ua (accepted, the order refused) or --on-hold ae (application error)");
    }
    const ServeArguments& serve = arguments_.serve;
    if (serve.history_keep && arguments_.history.empty())
      return usage("--history-keep is about a history; name it with --history");
    if (serve.has_tls() == serve.tls_key.empty() ||
        serve.has_tls() == serve.tls_client_ca.empty()) {
      return usage(
          "encryption needs three files: --tls-certificate and --tls-key of the service, and "
          "--tls-client-ca, the authority that signs the senders' certificates");
    }
    return check_files();
  }

  [[nodiscard]] Status check_replay() const {
    const std::size_t files = arguments_.files.size();
    if (arguments_.command == Command::ReplayLabels && files < 2)
      return usage(
          "name the sample's key and what readers sent back: `meniscus replay labels "
          "SAMPLE.csv.key READER.csv...`");
    if (files > 0 && arguments_.command == Command::Replay) return check_files();
    if (files > 0) return engine::Done{};
    const bool merge = arguments_.command == Command::ReplayMerge;
    return usage(merge ? "name the parts: `meniscus replay merge PART...`"
                       : "name the orders: `meniscus replay FILE...`");
  }

  [[nodiscard]] Status check_order() const {
    const std::string usual = in_ticks(path_ + " FILE --order ID");
    if (arguments_.files.empty()) return usage("name the file that holds the order: " + usual);
    if (arguments_.order.empty()) return usage("name the order by its id: " + usual);
    const bool twice = arguments_.command == Command::RulesCase;  // it reads its files again
    if (twice && std::count(arguments_.files.begin(), arguments_.files.end(), "-") > 0) {
      return usage("a case is made from a file, not from standard input");
    }
    return check_files();
  }

  /// An answer names what it is for, and who answers how long.
  [[nodiscard]] Status check_answer() const {
    const std::string usual = "`meniscus answer ORDERS --order ID --rule NAME`";
    if (arguments_.files.empty()) return usage("name the file that holds the order: " + usual);
    if (arguments_.order.empty() && arguments_.patient.empty()) {
      return usage("name the order by its id: " + usual + "; or, with --patient ID, the patient");
    }
    if (arguments_.rule_name.empty()) return usage("name the rule that asks: " + usual);
    const auto blank = [](const std::string& text) { return engine::ascii::trimmed(text).empty(); };
    if (blank(arguments_.text)) return usage("write the answer: --text \"what was answered\"");
    if (blank(arguments_.by)) {
      return usage("write who answers, as a role and not a name: --by \"pharmacist\"");
    }
    if (!arguments_.until) return usage("write the last day of the answer: --until 2026-06-30");
    if (arguments_.answers.empty()) {
      return usage("name the file that answers are kept in: --answers FILE");
    }
    return check_files();
  }

  [[nodiscard]] Status check_answers() const {
    if (arguments_.files.size() == 1) return engine::Done{};
    return usage("name one file of answers: `meniscus answers FILE`");
  }

  [[nodiscard]] Status check_rule() const {
    if (!arguments_.rule_name.empty()) return engine::Done{};
    return usage("name the rule to show: `meniscus rules show NAME`");
  }

  [[nodiscard]] Status check_rule_sets() const {
    if (arguments_.files.size() == 2) return engine::Done{};
    return usage("name two rule sets: `meniscus rules compare OLD NEW`");
  }

  [[nodiscard]] Status check_file() const {
    if (!arguments_.files.empty()) return engine::Done{};
    return usage("name the file: " + in_ticks(path_ + " FILE"));
  }

  [[nodiscard]] Status check_try() const {
    if (arguments_.files.empty() || arguments_.orders.empty()) {
      return usage(
          "name the rule file and the orders: `meniscus rules try RULE-FILE --on ORDERS...`");
    }
    if (std::find(arguments_.orders.begin(), arguments_.orders.end(), "-") !=
        arguments_.orders.end()) {
      return usage("the orders are read twice, so they must be in files; - cannot be tried on");
    }
    return engine::Done{};
  }

  [[nodiscard]] Status check_history() const {
    const std::size_t names = arguments_.files.size();
    if (arguments_.command == Command::HistoryImport && names < 2)
      return usage("name the history and the files: " + in_ticks(path_ + " sqlite:PATH FILE..."));
    if (arguments_.command == Command::HistoryMerge && names != 3) {
      return usage("name the history, the id that is no longer used, and the patient's: " +
                   in_ticks(path_ + " sqlite:PATH FORMER PATIENT"));
    }
    const bool one =
        arguments_.command != Command::HistoryImport && arguments_.command != Command::HistoryMerge;
    if (one && names != 1) return usage("name one history: " + in_ticks(path_ + " sqlite:PATH"));
    if (arguments_.before && arguments_.keep)
      return usage("--before and --keep both say what stays; write one of them");
    return engine::Done{};
  }

  [[nodiscard]] Status check_quarantine() const {
    const std::size_t names = arguments_.files.size();
    if (names == 0) return usage("name the folder: " + in_ticks(path_ + " FOLDER"));
    if (arguments_.command == Command::QuarantineList && names > 1)
      return usage("name one folder: " + in_ticks(path_ + " FOLDER"));
    const bool discard = arguments_.command == Command::QuarantineDiscard;
    if (discard && (names == 1) != arguments_.all) {
      return usage("name the messages to discard, or write --all: " +
                   in_ticks(path_ + " FOLDER NAME..."));
    }
    return engine::Done{};
  }

  [[nodiscard]] Status check_prune() const {
    if (arguments_.files.size() == 1 && !arguments_.orders.empty()) return engine::Done{};
    return usage("name one baseline and the orders: `meniscus baseline prune FILE --on ORDERS...`");
  }

  [[nodiscard]] Status check_files() const {
    if (arguments_.only_rules && arguments_.rules.empty()) {
      return usage("--only-rules leaves no rules; write --rules PATH with it");
    }
    for (const std::string& file : arguments_.files) {
      if (file.ends_with(".rule")) {
        return usage(in_ticks(file) + " is a rule file; write " + in_ticks("--rules " + file));
      }
    }
    if (std::count(arguments_.files.begin(), arguments_.files.end(), "-") > 1) {
      return usage("- stands for standard input and can be named once");
    }
    return engine::Done{};
  }

 private:
  const Arguments& arguments_;
  const std::string& path_;
  bool says_window_;
};

struct Needs {
  Command command;
  Status (ArgumentCheck::*check)() const;
};

/// Commands that need more than their words.
constexpr Needs kNeeds[] = {
    {Command::Check, &ArgumentCheck::check_orders},
    {Command::Config, &ArgumentCheck::check_orders},
    {Command::Serve, &ArgumentCheck::check_serve},
    {Command::Replay, &ArgumentCheck::check_replay},
    {Command::ReplayMerge, &ArgumentCheck::check_replay},
    {Command::ReplayLabels, &ArgumentCheck::check_replay},
    {Command::Explain, &ArgumentCheck::check_order},
    {Command::Answer, &ArgumentCheck::check_answer},
    {Command::Answers, &ArgumentCheck::check_answers},
    {Command::RulesCase, &ArgumentCheck::check_order},
    {Command::RulesShow, &ArgumentCheck::check_rule},
    {Command::RulesTry, &ArgumentCheck::check_try},
    {Command::RulesFormat, &ArgumentCheck::check_file},
    {Command::RulesCompare, &ArgumentCheck::check_rule_sets},
    {Command::ProfileLint, &ArgumentCheck::check_file},
    {Command::ProfileLearn, &ArgumentCheck::check_file},
    {Command::HistoryList, &ArgumentCheck::check_history},
    {Command::HistoryExport, &ArgumentCheck::check_history},
    {Command::HistoryImport, &ArgumentCheck::check_history},
    {Command::HistoryMerge, &ArgumentCheck::check_history},
    {Command::HistoryPrune, &ArgumentCheck::check_history},
    {Command::QuarantineList, &ArgumentCheck::check_quarantine},
    {Command::QuarantineRetry, &ArgumentCheck::check_quarantine},
    {Command::QuarantineDiscard, &ArgumentCheck::check_quarantine},
    {Command::BaselinePrune, &ArgumentCheck::check_prune},
};
}  // namespace

Status check_together(const Arguments& arguments, const std::string& path, bool says_window) {
  const ArgumentCheck all(arguments, path, says_window);
  for (const auto& [command, check] : kNeeds) {
    if (command != arguments.command) continue;
    if (Status status = (all.*check)(); !status) return status;
  }
  if (arguments.only_rules && arguments.rules.empty() && arguments.files.empty())
    return usage("--only-rules leaves no rules; write --rules PATH with it");
  return engine::Done{};
}

}  // namespace meniscus::adapters
