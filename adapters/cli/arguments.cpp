// Contract: see arguments.hpp.  CLI11 splits the words; what they mean is checked by ours
// (option_values.hpp, argument_check.hpp), so that every mistake is answered in the same way.
#include "adapters/cli/arguments.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

#include "adapters/cli/argument_check.hpp"
#include "adapters/cli/nearest.hpp"
#include "adapters/cli/option_values.hpp"

namespace meniscus::adapters {

namespace {
using engine::Error;
using engine::Result;
using engine::Status;

const Words<FromFormat>& from_words() {
  static const Words<FromFormat> kWords = {
      {"auto", FromFormat::Auto}, {"json", FromFormat::Json}, {"ndjson", FromFormat::Ndjson},
      {"csv", FromFormat::Csv},   {"hl7", FromFormat::Hl7},   {"fhir", FromFormat::Fhir}};
  return kWords;
}
const Words<ToFormat>& to_words() {
  static const Words<ToFormat> kWords = {{"text", ToFormat::Text},   {"jsonl", ToFormat::JsonLines},
                                         {"hl7", ToFormat::Hl7},     {"fhir", ToFormat::Fhir},
                                         {"lines", ToFormat::Lines}, {"sarif", ToFormat::Sarif},
                                         {"junit", ToFormat::Junit}};
  return kWords;
}
const Words<OnHold>& on_hold_words() {
  static const Words<OnHold> kWords = {{"ua", OnHold::Ua}, {"ae", OnHold::Ae}};
  return kWords;
}
const Words<engine::Outcome>& grade_words() {
  using engine::Outcome;
  static const Words<Outcome> kWords = {{"note", Outcome::Note},
                                        {"caution", Outcome::Caution},
                                        {"incomplete", Outcome::Incomplete},
                                        {"clarify", Outcome::Clarify},
                                        {"hold", Outcome::Hold}};
  return kWords;
}
const Words<LogLevel>& log_words() {
  static const Words<LogLevel> kWords = {{"off", LogLevel::Off},
                                         {"error", LogLevel::Error},
                                         {"warn", LogLevel::Warn},
                                         {"info", LogLevel::Info},
                                         {"debug", LogLevel::Debug}};
  return kWords;
}

constexpr std::size_t kDay = 86'400;  // seconds

/// What CLI11 fills, before it is checked.
struct Raw {
  std::string from, to, on_hold, fail_at, as_of, rules_as_of, profile, log, rule_name, need, until;
  std::string connections, in_work, idle, message_time, history_since, resend_window;
  std::string before, keep, history_keep, threads;
  bool help = false;
  bool version = false;
};

/// The parser and what belongs to it; CLI11 keeps references into it while it parses.
class Parser {
 public:
  Parser() {
    app_.set_help_flag();
    app_.allow_extras();
    app_.require_subcommand(0, 1);  // at each level; else `rules check` would be `check`
    app_.add_flag("--version", raw_.version);
    help_flag(app_);
    add_check();
    add_serve();
    add_replay();
    add_explain();
    add_answers();
    add_rules();
    add_profile();
    add_history();
    add_quarantine();
    add_baseline();
  }

  Result<Arguments> parse(const std::vector<std::string>& words) {
    std::vector<std::string> reversed(words.rbegin(), words.rend());
    try {
      app_.parse(std::move(reversed));
    } catch (const CLI::ParseError& problem) {
      return usage(sentence(problem));
    } catch (const std::exception& problem) {
      return usage(std::string("the command line cannot be read: ") + problem.what());
    }
    choose_command();
    if (raw_.help) {
      arguments_.command = Command::Help;
      return arguments_;
    }
    if (raw_.version) {
      arguments_.command = Command::Version;
      return arguments_;
    }
    if (const Status status = check_words(); !status) return status.error();
    if (const Status status = check_values(); !status) return status.error();
    return arguments_;
  }

 private:
  void help_flag(CLI::App& app) { app.add_flag("-h,--help", raw_.help); }

  CLI::App* command(CLI::App& parent, const std::string& name) {
    CLI::App* app = parent.add_subcommand(name);
    app->set_help_flag();
    app->allow_extras();
    help_flag(*app);
    app->add_option("--log", raw_.log);
    return app;
  }

  void rules_options(CLI::App& app) {
    app.add_option("--rules", arguments_.rules)->allow_extra_args(false);
    app.add_flag("--only-rules", arguments_.only_rules);
    app.add_option("--rules-as-of", raw_.rules_as_of);
    app.add_flag("--allow-mute-hold", arguments_.allow_mute_hold);
  }

  void add_check() {
    check_ = command(app_, "check");
    check_options(*check_);
    config_ = command(app_, "config");
    check_options(*config_);
  }

  void check_options(CLI::App& app) {
    rules_options(app);
    app.add_option("FILE", arguments_.files);
    app.add_option("--from", raw_.from);
    app.add_option("--to", raw_.to);
    app.add_option("--on-hold", raw_.on_hold);
    app.add_option("--fail-at", raw_.fail_at);
    app.add_option("--as-of", raw_.as_of);
    app.add_option("--profile", raw_.profile);
    app.add_option("--answers", arguments_.answers);
    history_options(app);
    message_options(app);
    app.add_option("--baseline", arguments_.baseline);
    app.add_option("--write-baseline", arguments_.write_baseline);
    app.add_option("--threads", raw_.threads);
    app.add_flag("--no-config", arguments_.no_config);
    app.add_flag_callback("--no-slips", [this] { arguments_.slips = false; });
  }

  void history_options(CLI::App& app) {
    app.add_option("--history", arguments_.history);
    app.add_option("--history-since", raw_.history_since);
  }

  /// Of messages that are answered.
  void message_options(CLI::App& app) {
    app.add_option("--resend-window", raw_.resend_window);
    app.add_option("--quarantine", arguments_.quarantine);
  }

  void add_serve() {
    serve_ = command(app_, "serve");
    rules_options(*serve_);
    serve_->add_option("--listen", arguments_.serve.listen);
    serve_->add_option("--status", arguments_.serve.status);
    serve_->add_option("--tls-certificate", arguments_.serve.tls_certificate);
    serve_->add_option("--tls-key", arguments_.serve.tls_key);
    serve_->add_option("--tls-client-ca", arguments_.serve.tls_client_ca);
    serve_->add_option("--on-hold", raw_.on_hold);
    serve_->add_option("--fail-at", raw_.fail_at);
    serve_->add_option("--profile", raw_.profile);
    history_options(*serve_);
    serve_->add_option("--connections", raw_.connections);
    serve_->add_option("--in-work", raw_.in_work);
    serve_->add_option("--idle", raw_.idle);
    serve_->add_option("--message-time", raw_.message_time);
    message_options(*serve_);
    serve_->add_option("--answers", arguments_.answers);
    serve_->add_option("--history-keep", raw_.history_keep);
    serve_->add_flag("--plain-text-network", arguments_.serve.plain_text_network);
  }

  void add_replay() {
    replay_ = command(app_, "replay");
    rules_options(*replay_);
    replay_->add_option("FILE", arguments_.files);
    replay_->add_option("--from", raw_.from);
    replay_->add_option("--fail-at", raw_.fail_at);
    replay_->add_option("--as-of", raw_.as_of);
    replay_->add_option("--profile", raw_.profile);
    replay_->add_option("--answers", arguments_.answers);
    replay_->add_option("--history-since", raw_.history_since);
    replay_options_.add_to(*replay_);
    CLI::App* merge = command(*replay_, "merge");
    merge->add_option("PART", arguments_.files);
    replay_options_.add_to_merge(*merge);
    second_level_.emplace_back(merge, Command::ReplayMerge);
    CLI::App* labels = command(*replay_, "labels");
    labels->add_option("FILE", arguments_.files);
    replay_options_.add_to_merge(*labels);
    second_level_.emplace_back(labels, Command::ReplayLabels);
  }

  /// One order of some files.
  void order_options(CLI::App& app) {
    app.add_option("FILE", arguments_.files);
    app.add_option("--order", arguments_.order);
    app.add_option("--from", raw_.from);
    app.add_option("--as-of", raw_.as_of);
    app.add_option("--profile", raw_.profile);
  }

  void add_explain() {
    explain_ = command(app_, "explain");
    rules_options(*explain_);
    order_options(*explain_);
    history_options(*explain_);
    explain_->add_option("--rule", raw_.rule_name);
    explain_->add_option("--answers", arguments_.answers);
    explain_->add_flag("--no-config", arguments_.no_config);
  }

  void add_answers() {
    answer_ = command(app_, "answer");
    rules_options(*answer_);
    order_options(*answer_);
    history_options(*answer_);
    answer_->add_option("--patient", arguments_.patient);
    answer_->add_option("--rule", raw_.rule_name);
    answer_->add_option("--text", arguments_.text);
    answer_->add_option("--by", arguments_.by);
    answer_->add_option("--until", raw_.until);
    answer_->add_option("--answers", arguments_.answers);
    answer_->add_flag("--no-config", arguments_.no_config);
    answers_ = command(app_, "answers");
    rules_options(*answers_);
    answers_->add_option("FILE", arguments_.files);
    history_options(*answers_);
    past_orders(*answers_);
  }

  void add_rules() {
    rules_ = command(app_, "rules");
    for (const auto& [name, id] :
         {std::pair{"lint", Command::RulesLint}, std::pair{"test", Command::RulesTest},
          std::pair{"case", Command::RulesCase}, std::pair{"list", Command::RulesList},
          std::pair{"show", Command::RulesShow}, std::pair{"try", Command::RulesTry},
          std::pair{"page", Command::RulesPage}}) {
      CLI::App* app = command(*rules_, name);
      rules_options(*app);
      if (id == Command::RulesLint) app->add_flag("--strict", arguments_.strict);
      if (id == Command::RulesTest) {
        app->add_flag("--coverage", arguments_.coverage);
        app->add_option("--need", raw_.need);
      }
      if (id == Command::RulesShow) {
        app->add_option("NAME", raw_.rule_name);
      } else if (id == Command::RulesCase) {
        order_options(*app);
      } else {
        app->add_option("PATH", arguments_.files);
      }
      if (id == Command::RulesTry) add_try(*app);
      second_level_.emplace_back(app, id);
    }
    CLI::App* format = command(*rules_, "format");
    format->add_option("PATH", arguments_.files);
    format->add_flag("--check", arguments_.only_check);
    second_level_.emplace_back(format, Command::RulesFormat);
    CLI::App* compare = command(*rules_, "compare");
    compare->add_option("PATH", arguments_.files);
    compare->add_option("--rules-as-of", raw_.rules_as_of);
    compare->add_flag("--allow-mute-hold", arguments_.allow_mute_hold);
    second_level_.emplace_back(compare, Command::RulesCompare);
    CLI::App* compile = command(*rules_, "compile");
    rules_options(*compile);
    auto* const check = compile->add_flag("--check", arguments_.only_check);
    compile->add_flag("--remove", arguments_.remove)->excludes(check);
    second_level_.emplace_back(compile, Command::RulesCompile);
    CLI::App* explain_code = command(*rules_, "explain-code");
    explain_code->add_option("CODE", arguments_.code);
    second_level_.emplace_back(explain_code, Command::RulesExplainCode);
  }

  /// Files of orders to look at something by.
  void past_orders(CLI::App& app) {
    app.add_option("--on", arguments_.orders);
    app.add_option("--from", raw_.from);
    app.add_option("--as-of", raw_.as_of);
    app.add_option("--profile", raw_.profile);
  }

  void add_baseline() {
    baseline_ = command(app_, "baseline");
    CLI::App* prune = command(*baseline_, "prune");
    rules_options(*prune);
    prune->add_option("FILE", arguments_.files);
    past_orders(*prune);
    second_level_.emplace_back(prune, Command::BaselinePrune);
  }

  void add_try(CLI::App& app) {
    past_orders(app);
    app.add_flag("--watch", arguments_.watch);
  }

  void add_profile() {
    profile_ = command(app_, "profile");
    for (const auto& [name, id] :
         {std::pair{"lint", Command::ProfileLint}, std::pair{"learn", Command::ProfileLearn}}) {
      CLI::App* app = command(*profile_, name);
      app->add_option("FILE", arguments_.files);
      if (id == Command::ProfileLearn) app->add_option("--from", raw_.from);
      second_level_.emplace_back(app, id);
    }
  }

  void add_history() {
    history_ = command(app_, "history");
    for (const auto& [name, id] :
         {std::pair{"list", Command::HistoryList}, std::pair{"export", Command::HistoryExport},
          std::pair{"import", Command::HistoryImport}, std::pair{"merge", Command::HistoryMerge},
          std::pair{"prune", Command::HistoryPrune}}) {
      CLI::App* app = command(*history_, name);
      app->add_option("STORE", arguments_.files);
      if (id == Command::HistoryList) app->add_option("--patient", arguments_.patient);
      if (id == Command::HistoryImport || id == Command::HistoryPrune) rules_options(*app);
      if (id == Command::HistoryImport) {
        app->add_option("--from", raw_.from);
        app->add_option("--profile", raw_.profile);
        app->add_option("--history-since", raw_.history_since);
      }
      if (id == Command::HistoryPrune) {
        app->add_option("--before", raw_.before);
        app->add_option("--keep", raw_.keep);
      }
      second_level_.emplace_back(app, id);
    }
  }

  void add_quarantine() {
    quarantine_ = command(app_, "quarantine");
    for (const auto& [name, id] :
         {std::pair{"list", Command::QuarantineList}, std::pair{"retry", Command::QuarantineRetry},
          std::pair{"discard", Command::QuarantineDiscard}}) {
      CLI::App* app = command(*quarantine_, name);
      app->add_option("FOLDER", arguments_.files);
      if (id == Command::QuarantineDiscard) app->add_flag("--all", arguments_.all);
      if (id == Command::QuarantineRetry) {
        rules_options(*app);
        history_options(*app);
        app->add_option("--profile", raw_.profile);
        app->add_option("--fail-at", raw_.fail_at);
      }
      second_level_.emplace_back(app, id);
    }
  }

  void choose_command() {
    for (CLI::App* app : {config_, baseline_, quarantine_, history_, profile_, rules_, answers_,
                          answer_, explain_, replay_, serve_, check_})
      if (app->parsed() || chosen_ == nullptr) chosen_ = app;
    if (!chosen_->parsed()) {
      chosen_ = &app_;
      return;
    }
    arguments_.help_topic = chosen_->get_name();
    arguments_.command = Command::Check;
    if (chosen_ == config_) arguments_.command = Command::Config;
    if (chosen_ == serve_) arguments_.command = Command::Serve;
    if (chosen_ == explain_) arguments_.command = Command::Explain;
    if (chosen_ == replay_) arguments_.command = Command::Replay;
    if (chosen_ == answer_) arguments_.command = Command::Answer;
    if (chosen_ == answers_) arguments_.command = Command::Answers;
    if (is_whole() && chosen_ != replay_) return;
    if (chosen_ != replay_) arguments_.command = Command::Help;
    for (const auto& [app, id] : second_level_) {
      if (!app->parsed()) continue;
      arguments_.command = id;
      leaf_ = app;
    }
  }

  /// The command is one word, without a second.
  [[nodiscard]] bool is_whole() const {
    return chosen_ == check_ || chosen_ == config_ || chosen_ == serve_ || chosen_ == explain_ ||
           chosen_ == replay_ || chosen_ == answer_ || chosen_ == answers_;
  }

  /// The names below a command: of its commands, or of its options with their dashes.
  std::vector<std::string_view> known_words(const CLI::App& app, bool options) {
    std::vector<std::string_view> known;
    if (!options) {
      for (const CLI::App* sub : app.get_subcommands({}))
        known.push_back(sub->get_name());
      return known;
    }
    for (const CLI::Option* option : app.get_options()) {
      for (const std::string& name : option->get_lnames())
        dashed_.push_back("--" + name);
    }
    known.assign(dashed_.begin(), dashed_.end());
    return known;
  }

  /// A word that no command or option took.
  Error stray(const std::string& word) {
    const CLI::App& at = leaf_ != nullptr ? *leaf_ : *chosen_;
    const std::string path = command_path();
    const std::string_view name = std::string_view(word).substr(0, word.find('='));
    if (word.size() > 1 && word[0] == '-') {
      const std::string hint = did_you_mean(name, known_words(at, true));
      return usage(in_ticks(path) + " has no option " + in_ticks(name) +
                   (hint.empty() ? "; see " + in_ticks(path + " --help") : hint));
    }
    if (leaf_ != nullptr || is_whole()) {
      return usage(in_ticks(path) + " does not take " + in_ticks(word));
    }
    const std::string hint = did_you_mean(word, known_words(at, false));
    return usage("there is no command " + in_ticks(path + " " + word) +
                 (hint.empty() ? "; see " + in_ticks(path + " --help") : hint));
  }

  [[nodiscard]] std::string command_path() const {
    std::string path = "meniscus";
    if (chosen_ != &app_) path += " " + chosen_->get_name();
    if (leaf_ != nullptr) path += " " + leaf_->get_name();
    return path;
  }

  /// Words left over, and commands without their second word.
  Status check_words() {
    std::vector<std::string> extras = app_.remaining(true);
    // `--` ends the options, so that a file may be called `-x.json`; what follows is taken by name.
    extras.erase(std::remove(extras.begin(), extras.end(), "--"), extras.end());
    if (!extras.empty()) return stray(extras.front());
    if (chosen_ == &app_) return usage("name a command; `meniscus --help` lists them");
    if (!is_whole() && leaf_ == nullptr) {
      std::string words;
      for (const auto& [app, id] : second_level_)
        if (app->get_parent() == chosen_) words += (words.empty() ? "" : ", ") + app->get_name();
      return usage(in_ticks(command_path()) + " needs one more word, one of " + words);
    }
    return engine::Done{};
  }

  Status check_values() {
    ServeArguments& serve = arguments_.serve;
    const std::array<Status, 19> checks = {
        read_word("--from", raw_.from, from_words(), arguments_.from),
        read_word("--to", raw_.to, to_words(), arguments_.to),
        read_word("--on-hold", raw_.on_hold, on_hold_words(), arguments_.on_hold),
        read_word("--fail-at", raw_.fail_at, grade_words(), arguments_.fail_at),
        read_word("--log", raw_.log, log_words(), arguments_.log),
        read_day("--as-of", raw_.as_of, arguments_.as_of),
        read_day("--rules-as-of", raw_.rules_as_of, arguments_.rules_as_of),
        read_day("--until", raw_.until, arguments_.until),
        read_day("--history-since", raw_.history_since, arguments_.history_since),
        read_day("--before", raw_.before, arguments_.before),
        read_days("--keep", raw_.keep, arguments_.keep),
        read_days("--history-keep", raw_.history_keep, serve.history_keep),
        read_share("--need", raw_.need, "90%", arguments_.need),
        read_count("--threads", raw_.threads, 1, 1024, arguments_.threads),
        read_count("--connections", raw_.connections, 1, 10'000, serve.connections),
        read_count("--in-work", raw_.in_work, 1, 10'000, serve.in_work),
        read_count("--idle", raw_.idle, 1, kDay, serve.idle),
        read_count("--message-time", raw_.message_time, 1, kDay, serve.message_time),
        read_count("--resend-window", raw_.resend_window, 0, 30 * kDay, arguments_.resend_window)};
    for (const Status& status : checks) {
      if (!status) return status;
    }
    arguments_.profile = raw_.profile;
    arguments_.rule_name = raw_.rule_name;
    if (Status replay = replay_options_.check(); !replay) return replay;
    return check_together(arguments_, command_path(), !raw_.resend_window.empty());
  }

  /// CLI11's own complaints: an option without its value, or twice.
  static std::string sentence(const CLI::ParseError& problem) {
    std::string text = problem.what();
    const std::string option = text.substr(0, text.find(':'));
    if (option.starts_with("--") && text.find("missing") != std::string::npos) {
      return option + " needs a value: write " + in_ticks(option + " VALUE");
    }
    if (option.starts_with("--")) return option + " can be given once, with one value";
    return text;
  }

  Arguments arguments_;
  Raw raw_;
  ReplayOptions replay_options_{arguments_.replay};
  CLI::App app_;
  CLI::App* check_ = nullptr;
  CLI::App* config_ = nullptr;
  CLI::App* serve_ = nullptr;
  CLI::App* explain_ = nullptr;
  CLI::App* replay_ = nullptr;
  CLI::App* answer_ = nullptr;
  CLI::App* answers_ = nullptr;
  CLI::App* rules_ = nullptr;
  CLI::App* profile_ = nullptr;
  CLI::App* history_ = nullptr;
  CLI::App* quarantine_ = nullptr;
  CLI::App* baseline_ = nullptr;
  std::vector<std::pair<CLI::App*, Command>> second_level_;
  std::vector<std::string> dashed_;  // what known_words() shows of options
  CLI::App* chosen_ = nullptr;
  CLI::App* leaf_ = nullptr;
};
}  // namespace

Result<Arguments> parse_arguments(const std::vector<std::string>& arguments) {
  Parser parser;
  return parser.parse(arguments);
}

}  // namespace meniscus::adapters
