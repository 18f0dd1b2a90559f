// Contract: see answerer.hpp.
#include "adapters/service/answerer.hpp"

#include <algorithm>
#include <exception>
#include <utility>

#include "adapters/hl7v2/hl7_source.hpp"
#include "adapters/support/view_bytes.hpp"
#include "engine/eval/checker.hpp"

namespace meniscus::adapters {

namespace {

/// A frame that is answered without being read.
class Refused final : public engine::OrderSource, public hl7v2::FramedSource {
 public:
  bool next(engine::OrderBlock& /*block*/) override { return false; }
  [[nodiscard]] engine::Place place(const engine::OrderBlock& /*block*/, unsigned /*lane*/,
                                    engine::FieldId /*field*/,
                                    engine::Origin /*origin*/) const override {
    return {};
  }
  [[nodiscard]] engine::Place record_place(const engine::OrderBlock& /*block*/,
                                           unsigned /*lane*/) const override {
    return {};
  }
  [[nodiscard]] hl7v2::MessageFrame frame(unsigned /*lane*/) const override {
    return {true, true, true};
  }
};

}  // namespace

class Answerer::Work {
 public:
  Work(RulesInForce rules, const hl7v2::AckPolicy& policy, const engine::Clock& clock,
       engine::History& history, AnswerWatch& watch, KeptHistory* kept)
      : rules_(std::move(rules)),
        context_{rules_.program.get(), &rules_.feed},
        policy_(policy),
        clock_(clock),
        history_(history),
        watch_(watch),
        kept_(kept) {
    start();
  }

  void use(RulesInForce rules) {
    checker_.reset();
    source_.reset();
    rules_ = std::move(rules);
    context_.program = rules_.program.get();
    sink_->use(rules_.program.get());
    make_source();
    make_checker();
  }

  void answer(const mllp::Frame& frame, std::string& out) {
    out_ = &out;
    if (clock_.today() != today_) make_checker();
    if (frame.kind == mllp::FrameKind::TooLarge) {
      return refuse(frame, engine::kUnreadable, "the message is larger than what is read here");
    }
    const std::size_t before = out.size();
    try {
      if (judge(frame)) return;
      out.resize(before);
      start();
      refuse(frame, engine::kInternal, "the order could not be kept: nothing was judged");
    } catch (const std::exception&) {
      out.resize(before);
      start();
      refuse(frame, engine::kInternal, "an error of the checking program: nothing was judged");
    }
  }

  std::string take_trouble() { return std::exchange(trouble_, {}); }

  [[nodiscard]] std::vector<engine::NotAssessed> never_assessed() const {
    return checker_->never_assessed();
  }

 private:
  /// All that reads, judges and answers, anew.
  void start() {
    sink_ = std::make_unique<hl7v2::Hl7AckSink>(
        policy_,
        [this](std::string_view text) {
          watch_.answered(block_.record(lane_).text, text);
          *out_ += text;
          return true;
        },
        [this] { return clock_.message_time(); }, rules_.program.get());
    make_source();
    make_checker();
  }

  void make_source() {
    auto bytes = std::make_unique<ViewBytes>();
    bytes_ = bytes.get();
    source_ = std::make_unique<hl7v2::Hl7Source>(engine::Input{"the network", std::move(bytes), 0},
                                                 context_);
  }

  void make_checker() {
    today_ = clock_.today();
    engine::CheckOptions options;
    options.today = today_;
    options.slips = false;  // answers name none
    options.history = engine::HistoryScope::Store;
    options.never_carries = rules_.feed.never_carries | source_->never_carries();
    checker_ = std::make_unique<engine::Checker>(rules_.program, options);
    report_ = [this](const engine::Verdict& verdict) { write(verdict, *source_); };
  }

  /// False: an order could not be kept.
  bool judge(const mllp::Frame& frame) {
    bytes_->set(frame.bytes);
    source_->restart();
    while (source_->next(block_)) {
      if (!keep()) return false;
      checker_->check(block_, history_, report_);
    }
    return true;
  }

  bool keep() {
    const engine::Days days{std::nullopt, today_};
    if (kept_ == nullptr) {
      begin_history(block_, days, history_);
      return true;
    }
    const engine::Status kept = kept_->keep(block_, days, history_);
    if (!kept) trouble_ = kept.error().message;
    return kept.has_value();
  }

  void write(const engine::Verdict& verdict, const engine::OrderSource& source) {
    lane_ = verdict.lane;
    watch_.judged(verdict);
    sink_->write(verdict, block_, source);
  }

  void refuse(const mllp::Frame& frame, std::string_view rule, std::string reason) {
    std::string_view text = frame.bytes;
    text.remove_prefix(std::min<std::size_t>(1, text.size()));  // VT
    block_.clear();
    const unsigned lane = block_.add_lane();
    engine::RecordInfo& record = block_.record(lane);
    record.kind = engine::RecordKind::Unreadable;
    record.text = text;
    record.reason = reason;
    engine::Verdict verdict;
    verdict.lane = lane;
    verdict.outcome = engine::Outcome::Hold;
    engine::Finding& finding = verdict.add_finding();
    finding.rule = rule;
    finding.grade = engine::Grade::Hold;
    finding.say = std::move(reason);
    write(verdict, refused_);
  }

  RulesInForce rules_;
  engine::ReadContext context_;
  hl7v2::AckPolicy policy_;
  const engine::Clock& clock_;
  engine::History& history_;
  AnswerWatch& watch_;
  KeptHistory* kept_;
  std::string trouble_;
  ViewBytes* bytes_ = nullptr;  // the source's
  std::unique_ptr<hl7v2::Hl7Source> source_;
  std::unique_ptr<hl7v2::Hl7AckSink> sink_;
  std::unique_ptr<engine::Checker> checker_;
  engine::Checker::Report report_;
  engine::OrderBlock block_;
  Refused refused_;
  std::string* out_ = nullptr;
  unsigned lane_ = 0;  // that is being answered
  std::int64_t today_ = 0;
};

Answerer::Answerer(RulesInForce rules, const hl7v2::AckPolicy& policy, const engine::Clock& clock,
                   engine::History& history, AnswerWatch& watch, KeptHistory* kept)
    : work_(std::make_unique<Work>(std::move(rules), policy, clock, history, watch, kept)) {}
Answerer::~Answerer() = default;

void Answerer::answer(const mllp::Frame& frame, std::string& out) { work_->answer(frame, out); }

std::string Answerer::take_trouble() { return work_->take_trouble(); }

void Answerer::use(RulesInForce rules) { work_->use(std::move(rules)); }

std::vector<engine::NotAssessed> Answerer::never_assessed() const {
  return work_->never_assessed();
}

}  // namespace meniscus::adapters
