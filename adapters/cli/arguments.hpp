// The command line, read and checked: what the user asks for, or one sentence about what to write
// instead.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "adapters/cli/replay_arguments.hpp"
#include "engine/base/result.hpp"
#include "engine/verdict/verdict.hpp"

namespace meniscus::adapters {

enum class Command : std::uint8_t {
  Help,
  Version,
  Check,
  Config,
  Serve,
  Replay,
  ReplayMerge,
  ReplayLabels,
  Explain,
  Answer,
  Answers,
  RulesLint,
  RulesTest,
  RulesCase,
  RulesList,
  RulesShow,
  RulesTry,
  RulesPage,
  RulesFormat,
  RulesCompare,
  RulesCompile,
  RulesExplainCode,
  ProfileLint,
  ProfileLearn,
  HistoryList,
  HistoryExport,
  HistoryImport,
  HistoryMerge,
  HistoryPrune,
  QuarantineList,
  QuarantineRetry,
  QuarantineDiscard,
  BaselinePrune
};
enum class FromFormat : std::uint8_t { Auto, Json, Ndjson, Csv, Hl7, Fhir };
enum class ToFormat : std::uint8_t { Text, JsonLines, Hl7, Fhir, Sarif, Junit, Lines };
/// Formats of the data check (docs/data-check.md).
constexpr bool is_data_check(ToFormat to) {
  return to == ToFormat::Sarif || to == ToFormat::Junit || to == ToFormat::Lines;
}
enum class OnHold : std::uint8_t { NotSaid, Ua, Ae };
enum class LogLevel : std::uint8_t { Off, Error, Warn, Info, Debug };

/// Of `meniscus serve` alone.
struct ServeArguments {
  std::string listen = "127.0.0.1:2575";
  std::string status;           // where to say how it goes; empty: nowhere
  std::string tls_certificate;  // PEM files; all three, or none: plain text
  std::string tls_key;
  std::string tls_client_ca;
  [[nodiscard]] bool has_tls() const { return !tls_certificate.empty(); }
  bool plain_text_network = false;  // also where others could read along
  std::size_t connections = 256;
  std::size_t in_work = 64;                 // messages
  std::size_t idle = 3600;                  // seconds between messages
  std::size_t message_time = 30;            // seconds for one message, and for taking its answer
  std::optional<std::size_t> history_keep;  // days; none: all
};

/// One setting of `check`, for `meniscus config`.
struct SettingShown {
  std::string name;
  std::string value;  // empty: not set
  std::string from;   // a place in a file, a variable, `the command line`, `default`
};

struct Arguments {
  Command command = Command::Help;
  // "", "check", "serve", "replay", "explain", "answer", "answers", "rules", "profile", "history",
  // "quarantine", "baseline", "config"
  std::string help_topic;
  std::vector<std::string> files;
  std::vector<std::string> rules;
  bool only_rules = false;
  FromFormat from = FromFormat::Auto;
  ToFormat to = ToFormat::Text;
  OnHold on_hold = OnHold::NotSaid;
  engine::Outcome fail_at = engine::Outcome::Incomplete;
  bool slips = true;                        // name what may have been meant
  std::size_t threads = 0;                  // of check; 0: as many as the machine has
  std::optional<std::int64_t> as_of;        // days since 1970-01-01
  std::optional<std::int64_t> rules_as_of;  // likewise
  bool allow_mute_hold = false;
  std::string profile;                        // path, or empty
  std::optional<std::int64_t> history_since;  // check, serve: all is known since this day
  std::string history;  // check, serve: where it is kept (sqlite:PATH), or empty
  // check, serve: seconds in which a message that comes again is known; 0: off
  std::size_t resend_window = 3600;
  std::string quarantine;  // check, serve: folder for messages that cannot be read, or empty
  std::optional<std::int64_t> before;  // history prune: the first day that stays
  std::optional<std::size_t> keep;     // history prune: days that stay
  bool all = false;                    // quarantine discard: every message
  LogLevel log = LogLevel::Warn;
  std::string answers;                 // check, explain, answer: path, or empty
  std::string baseline;                // check: path of known findings, or empty
  bool no_config = false;              // check, config: the command line alone
  std::vector<SettingShown> settings;  // check, config: as parse_configured() found them
  std::string write_baseline;          // check: path to write them to, or empty
  std::string rule_name;               // rules show, explain, answer
  std::string order;                   // explain, answer, rules case: its id
  std::string patient;                 // answer: for every order of this patient; history list
  std::string text;                    // answer
  std::string by;                      // answer: a role
  std::optional<std::int64_t> until;   // answer: its last day
  bool coverage = false;               // rules test: what no test notices, one by one
  std::optional<double> need;          // rules test: least share that must be noticed, in percent
  std::vector<std::string> orders;     // rules try, answers
  bool watch = false;                  // rules try
  bool strict = false;                 // rules lint: warnings count too
  std::string code;                    // rules explain-code; empty: the list of all
  bool only_check = false;             // rules format, compile: change no file
  bool remove = false;                 // rules compile: take the compiled form away
  ServeArguments serve;
  ReplayArguments replay;
};

/// `arguments` are those after the program's name.  Errors: Usage, one sentence.
engine::Result<Arguments> parse_arguments(const std::vector<std::string>& arguments);

}  // namespace meniscus::adapters
