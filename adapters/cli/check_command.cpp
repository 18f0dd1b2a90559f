// Contract: see check_command.hpp.
#include "adapters/cli/check_command.hpp"

#include <algorithm>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <thread>
#include <utility>
#include <vector>

#include "adapters/cli/counted.hpp"
#include "adapters/cli/inputs.hpp"
#include "adapters/cli/kept_answers.hpp"
#include "adapters/cli/known_findings.hpp"
#include "adapters/cli/late_records.hpp"
#include "adapters/cli/piece_check.hpp"
#include "adapters/cli/pipe_check.hpp"
#include "adapters/cli/profile_command.hpp"
#include "adapters/cli/progress.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/cli/sinks.hpp"
#include "adapters/history/kept_history.hpp"
#include "adapters/hl7v2/batch_count.hpp"
#include "adapters/json/json_source.hpp"
#include "adapters/report/found.hpp"
#include "adapters/support/heap_pages.hpp"
#include "engine/eval/checker.hpp"
#include "engine/history/history.hpp"
#include "engine/order/feed.hpp"

namespace meniscus::adapters {

namespace {
using engine::Verdict;

/// What was read before the first order.
struct Loaded {
  std::shared_ptr<const engine::Program> program;
  engine::Feed feed;
  KeptAnswers answers;
  std::unique_ptr<KeptHistory> kept;
  std::unique_ptr<Quarantine> quarantine;
  KnownFindings known;
};

/// One run over all inputs.
class CheckRun {
 public:
  CheckRun(const Arguments& arguments, const Console& console, const Log& log, Loaded loaded)
      : arguments_(arguments),
        console_(console),
        log_(log),
        program_(std::move(loaded.program)),
        feed_(std::move(loaded.feed)),
        answers_sound_(loaded.answers.sound),
        answers_(std::make_shared<const engine::Answers>(std::move(loaded.answers.answers))),
        history_(program_->look_back, program_->history_fields, program_->history_written),
        kept_(std::move(loaded.kept)),
        quarantine_(std::move(loaded.quarantine)),
        known_(std::move(loaded.known)),
        progress_(console),
        sinks_(make_sinks(arguments, console, *program_)) {}

  ExitStatus run() {
    if (!answers_sound_) status_ = ExitStatus::Usage;
    if (kept_ != nullptr) {
      const engine::Status loaded = kept_->load(program_, console_.today, history_);
      if (!loaded) {
        console_.complain(loaded.error().message);
        return ExitStatus::Usage;
      }
    }
    know_since(arguments_.history_since, history_);
    make_pipe();
    std::vector<std::string> names = arguments_.files;
    if (names.empty()) names.emplace_back("-");
    if (sinks_.report != nullptr)
      sinks_.report->begin({names.size(), program_->hash, program_->changes});
    if (!says_changes()) say_local_changes(*program_, console_);
    for (std::uint32_t file = 0; file < names.size() && !stopped_; ++file) {
      if (sinks_.report != nullptr && sinks_.report->failed()) break;
      judge(names[file], file);
    }
    if (const std::string late = late_.sentence(); !late.empty()) console_.complain(late);
    end_report();
    const engine::Status written = sinks_.sink->finish();
    if (!written) {
      console_.complain(written.error().message);
      status_ = ExitStatus::Internal;
    }
    return status_;
  }

 private:
  /// Answers, and what is a message a line, have no place for what concerns the whole run.
  [[nodiscard]] bool says_changes() const {
    return arguments_.to == ToFormat::Text || arguments_.to == ToFormat::JsonLines ||
           arguments_.to == ToFormat::Sarif;
  }

  void end_report() {
    RunEnd end;
    const engine::Status written = known_.finish(all_opened_ && !stopped_, end.said);
    for (const std::string& sentence : end.said)
      console_.complain(sentence);
    if (!written) {
      console_.complain(written.error().message);
      status_ = ExitStatus::Internal;
    }
    if (sinks_.report == nullptr) return;
    end.exit_status = static_cast<int>(status_);
    end.broken = !all_opened_ || status_ == ExitStatus::Internal;
    sinks_.report->end_run(end);
  }

  void judge(const std::string& name, std::uint32_t file) {
    if (auto lines = open_lines(name, arguments_.from, threads())) {
      begin_input(name, file);
      return judge(*lines, piece_check(name, file));
    }
    auto opened = open_named(name, arguments_.from, file);
    if (!opened) return say_not_opened(opened.error().message);
    begin_input(name, file);
    if (pipe_ && opened->format == Format::Hl7) return judge_in_pipe(std::move(opened->input));
    if (opened->format == Format::Hl7 && threads() > 1 && is_large_file(name)) {
      hl7v2::MessagePieces messages(std::move(opened->input.bytes));
      return judge(messages, piece_check(name, file));
    }
    const engine::ReadContext context{program_.get(), &feed_};
    auto orders = open_orders(std::move(opened->input), opened->format, context);
    if (!orders) return say_not_opened(orders.error().message);
    judge(*orders->source, name == "-");
  }

  void say_not_opened(const std::string& why) {
    console_.complain(why);
    status_ = worst(status_, ExitStatus::Unread);
    all_opened_ = false;
    if (sinks_.report != nullptr) sinks_.report->not_opened(why);
  }

  void make_pipe() {
    if (arguments_.to != ToFormat::Hl7 || (kept_ == nullptr && quarantine_ == nullptr)) return;
    pipe_.emplace(arguments_, console_, RulesInForce{program_, feed_, console_.today, answers_},
                  history_, AnswerStores{kept_.get(), quarantine_.get()},
                  [this](const Verdict& verdict) {
                    note(verdict);
                    progress_.add(1);
                  });
  }

  void begin_input(const std::string& name, std::uint32_t file) {
    log_.debug("reading input " + std::to_string(file + 1));
    known_.begin_input(name);
    if (sinks_.report != nullptr) sinks_.report->begin_input(name);
  }

  [[nodiscard]] unsigned threads() const {
    if (arguments_.threads > 0) return static_cast<unsigned>(arguments_.threads);
    // What is done in the order of the input keeps more of them waiting.
    constexpr unsigned kUseful = 4;
    return std::clamp(std::thread::hardware_concurrency(), 1U, kUseful);
  }

  [[nodiscard]] engine::Checker make_checker(const engine::OrderSource& source) const {
    engine::CheckOptions options = check_options(arguments_, console_, feed_, source);
    const bool names_slips =
        arguments_.to == ToFormat::Text || arguments_.to == ToFormat::JsonLines;
    options.slips = arguments_.slips && names_slips;
    options.answers = answers_.get();
    if (kept_ != nullptr) options.history = engine::HistoryScope::Store;
    return {program_, options};
  }

  [[nodiscard]] PieceCheck piece_check(const std::string& name, std::uint32_t file) {
    PieceCheck check;
    check.name = name;
    check.file = file;
    check.context = {program_.get(), &feed_};
    check.threads = threads();
    check.make_checker = [this](const engine::OrderSource& source) { return make_checker(source); };
    check.finish = [this](engine::Checker& checker, const engine::OrderBlock& block,
                          const engine::OrderSource& source) {
      return finish(checker, block, source);
    };
    return check;
  }

  /// On several threads as far as that goes, and then on this one.
  void judge(JsonLines& lines, const PieceCheck& check) {
    const auto any = make_json_pieces(check.name, check.file, check.context);
    say_never_assessed(make_checker(*any), When::Before);
    if (const auto rest = check_pieces(lines, check)) judge_all(*rest, false);
    say_never_assessed(make_checker(*any), When::Behind);
  }
  void judge(hl7v2::MessagePieces& messages, const PieceCheck& check) {
    const hl7v2::Hl7PieceSource any(check.name, check.file, check.context);
    say_never_assessed(make_checker(any), When::Before);
    check_pieces(messages, check);
    say_never_assessed(make_checker(any), When::Behind);
  }
  void judge(engine::OrderSource& source, bool live) {
    say_never_assessed(make_checker(source), When::Before);
    judge_all(source, live);
    say_never_assessed(make_checker(source), When::Behind);
  }
  /// As an answer has no place for it, it is said on standard error, before the first one.
  void judge_in_pipe(engine::Input input) {
    const hl7v2::Hl7PieceSource any(input.name, input.file, {program_.get(), &feed_});
    say_never_assessed(make_checker(any), When::Before);
    status_ = worst(status_, pipe_->run(std::move(input)));
    stopped_ = pipe_->is_over();
  }

  /// Of the verdicts of an input.
  enum class When : std::uint8_t { Before, Behind };

  void say_never_assessed(const engine::Checker& checker, When when) {
    if (stopped_) return;
    const bool first = sinks_.report == nullptr || sinks_.report->says_never_assessed_first();
    if (first != (when == When::Before)) return;
    const std::vector<engine::NotAssessed> missing = checker.never_assessed();
    if (sinks_.report != nullptr) return sinks_.report->never_assessed(missing);
    const std::string sentence = never_carried(missing);
    if (sentence != std::exchange(never_said_, sentence)) console_.complain(sentence);
  }

  /// Empty: everything is carried.
  static std::string never_carried(const std::vector<engine::NotAssessed>& missing) {
    if (missing.empty()) return {};
    std::string text = "these orders never carry";
    std::set<std::string_view> rules;
    const char* separator = " ";
    for (const engine::NotAssessed& entry : missing) {
      text.append(std::exchange(separator, ", ")).append(entry.missing);
      rules.insert(entry.rules.begin(), entry.rules.end());
    }
    text += "; not assessed, or only in part: " + counted(rules.size(), "rule");
    separator = ": ";
    for (const std::string_view rule : rules)
      text.append(std::exchange(separator, ", ")).append(rule);
    return text;
  }

  /// Says what is found in a block that was begun.  False: no more is to be judged.
  bool finish(engine::Checker& checker, const engine::OrderBlock& block,
              const engine::OrderSource& source) {
    if (kept_ != nullptr && !keep(block)) return false;
    late_.add(block);
    checker.finish(history_, [&](const Verdict& judged) {
      const Verdict& verdict = known_.shown(judged);
      note(verdict);
      if (sinks_.report == nullptr) say_of_no_message(block.record(verdict.lane));
      sinks_.sink->write(verdict, block, source);
    });
    progress_.add(block.size());
    if (console_.heap != nullptr) console_.heap->keep_up();
    return sinks_.report == nullptr || !sinks_.report->failed();
  }

  /// Answers have no place for what is said of a batch.
  void say_of_no_message(const engine::RecordInfo& record) const {
    if (record.kind == engine::RecordKind::Unreadable && hl7v2::is_of_no_message(record.text))
      console_.complain(record.reason);
  }

  void judge_all(engine::OrderSource& source, bool live) {
    engine::Checker checker = make_checker(source);
    while (source.next(block_)) {
      checker.begin(block_);
      if (!finish(checker, block_, source)) break;
      if (live && sinks_.report != nullptr) sinks_.report->flush();
    }
  }

  [[nodiscard]] engine::Days days() const { return {arguments_.as_of, console_.today}; }

  /// Before anything is said about the orders of the block: what was answered is in the store.
  bool keep(const engine::OrderBlock& block) {
    const engine::Status kept = kept_->keep(block, days(), history_);
    if (kept) return true;
    console_.complain(kept.error().message + "; these orders and all after them are not checked");
    status_ = ExitStatus::Internal;
    stopped_ = true;
    return false;
  }

  void note(const Verdict& verdict) {
    if (is_found(verdict, arguments_.fail_at)) status_ = worst(status_, ExitStatus::Found);
    for (const engine::Finding& finding : verdict.findings) {
      if (finding.rule == engine::kUnreadable) status_ = worst(status_, ExitStatus::Unread);
      if (finding.rule == engine::kInternal) status_ = worst(status_, ExitStatus::Internal);
    }
  }

  const Arguments& arguments_;
  const Console& console_;
  const Log& log_;
  std::shared_ptr<const engine::Program> program_;
  engine::Feed feed_;
  bool answers_sound_;
  std::shared_ptr<const engine::Answers> answers_;  // also the pipe's
  engine::History history_;
  std::unique_ptr<KeptHistory> kept_;       // null: what the input holds is all the history
  std::unique_ptr<Quarantine> quarantine_;  // null: what cannot be read is only refused
  KnownFindings known_;
  LateRecords late_;
  engine::OrderBlock block_;
  Progress progress_;
  Sinks sinks_;
  std::optional<PipeCheck> pipe_;  // where messages are answered as the service does
  ExitStatus status_ = ExitStatus::Clean;
  std::string never_said_;  // on standard error
  bool stopped_ = false;
  bool all_opened_ = true;
};
}  // namespace

ExitStatus run_check(const Arguments& arguments, const Console& console, const Log& log) {
  if (arguments.files.empty() && console.in_is_terminal) {
    console.complain("name the files to check, or - for standard input");
    return ExitStatus::Usage;
  }
  auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  auto feed = load_feed(arguments.profile, *program, console);
  if (!feed) return ExitStatus::Usage;
  auto answers = load_answers(arguments.answers, *program, console);
  if (!answers) return ExitStatus::Usage;
  auto known = KnownFindings::load(arguments, console);
  if (!known) return ExitStatus::Usage;
  auto kept = open_history(arguments, console);
  if (!kept) return ExitStatus::Usage;
  auto quarantine = open_quarantine(arguments, console);
  if (!quarantine) return ExitStatus::Usage;
  log.info(std::to_string(program->rules.size()) + " rules, " + program->hash);
  Loaded loaded{std::move(program), std::move(*feed),       std::move(*answers),
                std::move(*kept),   std::move(*quarantine), std::move(*known)};
  return CheckRun(arguments, console, log, std::move(loaded)).run();
}

}  // namespace meniscus::adapters
