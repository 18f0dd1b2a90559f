// Contract: see answerer.hpp.
#include "adapters/service/answerer.hpp"

#include <algorithm>
#include <exception>
#include <utility>

#include "adapters/hl7v2/batch_count.hpp"
#include "adapters/hl7v2/hl7_source.hpp"
#include "adapters/service/message_key.hpp"
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
    return {true, true, true, nullptr};
  }
};

/// What `step` gives; an error where there is no memory for it.
template <class Step>
engine::Status with_memory(const Step& step) {
  try {
    return step();
  } catch (const std::exception&) {
    return engine::Error{engine::Errc::Internal, "an error of the program ended a turn", 0, 0};
  }
}

/// A whole frame with nothing in it but what a sender may put between messages.
bool is_empty(const mllp::Frame& frame) {
  constexpr std::string_view kNothing{"\x0B\x1C\r\n\t \0", 7};
  return frame.kind == mllp::FrameKind::Whole &&
         frame.bytes.find_first_not_of(kNothing) == std::string_view::npos;
}

/// Lower-case hexadecimal digits of the first bytes of a digest.
std::string name_of(std::string_view digest) {
  constexpr std::string_view kDigits = "0123456789abcdef";
  constexpr std::size_t kBytes = 12;
  std::string name;
  for (const char c : digest.substr(0, kBytes)) {
    const auto byte = static_cast<unsigned char>(c);
    name += kDigits[byte >> 4U];
    name += kDigits[byte & 15U];
  }
  return name;
}

}  // namespace

class Answerer::Work {
 public:
  Work(RulesInForce rules, const AnswerOptions& options, const engine::Clock& clock,
       engine::History& history, AnswerWatch& watch, const AnswerStores& stores)
      : rules_(std::move(rules)),
        context_{rules_.program.get(), &rules_.feed},
        options_(options),
        clock_(clock),
        history_(&history),
        watch_(watch),
        kept_(stores.kept),
        quarantine_(stores.quarantine) {
    start();
  }

  void use(RulesInForce rules, engine::History& history) {
    checker_.reset();
    source_.reset();
    history_ = &history;
    rules_ = std::move(rules);
    context_.program = rules_.program.get();
    sink_->use(rules_.program.get());
    make_source();
    make_checker();
  }

  engine::Status answer(std::span<const Asked> messages) {
    if (clock_.today() != today_) make_checker();
    engine::Status done = look_ahead(messages);
    for (std::size_t next = 0; done && next < messages.size();) {
      const std::size_t end = gather(messages, next);
      done = end - next > 1 ? answer_together(messages.subspan(next, end - next))
                            : answer_alone(messages[next]);
      next = end;
    }
    return done;
  }

  engine::Status end_turn() {
    return kept_ == nullptr ? engine::Status(engine::Done{}) : kept_->commit(*history_);
  }
  bool hand_turn_over(const std::function<void()>& landed) {
    return kept_ != nullptr && kept_->hand_over(landed);
  }
  engine::Result<std::size_t> settle() { return kept_->settle(*history_); }
  void give_turn_up() {
    if (kept_ != nullptr) kept_->roll_back(*history_);
    start();
  }

  engine::Status drop_old_answers() {
    if (kept_ == nullptr || options_.resend_window <= 0) return engine::Done{};
    return kept_->drop_answers(clock_.since_epoch() - options_.resend_window);
  }

  void refuse_unkept(const mllp::Frame& frame, std::string& out) {
    out_ = &out;
    begins_.clear();
    refuse(frame, engine::kInternal, "the order could not be kept: nothing was judged");
  }

  std::string take_trouble() { return std::exchange(trouble_, {}); }

  [[nodiscard]] std::vector<engine::NotAssessed> never_assessed() const {
    return checker_->never_assessed();
  }

 private:
  /// A shared store wants to know the patients and ids of the messages before the first is judged.
  engine::Status look_ahead(std::span<const Asked> messages) {
    if (kept_ == nullptr || !kept_->looks_ahead() || messages.empty()) return engine::Done{};
    std::vector<std::string> patients;
    std::vector<MessageKey> keys;
    for (const Asked& asked : messages) {
      find_patients(asked.frame.bytes, patients);
      if (auto key = key_of(asked.frame.bytes)) keys.push_back(std::move(*key));
    }
    std::vector<OrderStore::MessageId> ids;
    ids.reserve(keys.size());
    for (const MessageKey& key : keys)
      ids.push_back({key.sender, key.control});
    // Behind the locks of the patients, so that what another program is about to say is waited for.
    engine::Status begun = kept_->begin(patients, *history_);
    if (begun && options_.resend_window > 0)
      begun = kept_->expect(ids, clock_.since_epoch() - options_.resend_window);
    return begun;
  }

  /// All that reads, judges and answers, anew.
  void start() {
    sink_ = std::make_unique<hl7v2::Hl7AckSink>(
        options_.policy,
        [this](std::string_view text) {
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
    options.as_of = options_.as_of;
    options.slips = false;  // answers name none
    options.history = options_.scope;
    options.answers = rules_.answers.get();
    options.never_carries = rules_.feed.never_carries | source_->never_carries();
    checker_ = std::make_unique<engine::Checker>(rules_.program, options);
    report_ = [this](const engine::Verdict& verdict) { write(verdict, *source_); };
  }

  void read(std::string_view frame) {
    bytes_->set(frame);
    source_->restart();
  }

  void find_patients(std::string_view frame, std::vector<std::string>& patients) {
    read(frame);
    while (source_->next(block_)) {
      for (unsigned lane = 0; lane < block_.size(); ++lane) {
        const engine::Value patient = block_.value(lane, engine::FieldId::PatientId);
        if (patient.known()) patients.emplace_back(patient.text);
        const std::string_view former = block_.record(lane).former;
        if (!former.empty()) patients.emplace_back(former);
      }
    }
  }

  /// Where the messages from `first` on end that can be judged together: one message to a frame.
  static std::size_t gather(std::span<const Asked> messages, std::size_t first) {
    std::size_t end = first;
    while (end < messages.size() && is_plain(messages[end].frame))
      ++end;
    return std::max(end, first + 1);
  }

  /// A frame that holds one message and nothing else, so that it reads the same behind another.
  static bool is_plain(const mllp::Frame& frame) {
    const std::string_view bytes = frame.bytes;
    const auto has = [&](std::string_view part) {
      return bytes.find(part) != std::string_view::npos;
    };
    return frame.kind == mllp::FrameKind::Whole && bytes.size() > 8 &&
           bytes.substr(1, 3) == "MSH" && !has("\n") && !has("\rMSH") && !has("\rB") && !has("\rF");
  }

  engine::Status answer_alone(const Asked& asked) {
    out_ = asked.out;
    begins_.clear();
    const mllp::Frame& frame = asked.frame;
    if (frame.kind == mllp::FrameKind::TooLarge) {
      refuse(frame, engine::kUnreadable, "the message is larger than what is read here");
      hold_back(frame, {"the message is larger than what is read here: only its first " +
                            std::to_string(frame.bytes.size()) + " bytes are kept",
                        "", 0, 0});
      return engine::Done{};
    }
    if (is_empty(frame)) {
      refuse(frame, engine::kUnreadable, "the frame holds no message");
      return engine::Done{};
    }
    const std::size_t before = asked.out->size();
    try {
      return judge_once(asked);
    } catch (const std::exception&) {
      asked.out->resize(before);
      start();
      refuse(frame, engine::kInternal, "an error of the checking program: nothing was judged");
    }
    return engine::Done{};
  }

  /// Messages that all stand in one block, or a few; where they cannot, one after the other.
  engine::Status answer_together(std::span<const Asked> messages) {
    group_.clear();
    begins_.clear();
    std::size_t taken = 0;
    try {
      for (const Asked& asked : messages) {
        std::optional<MessageKey> key = key_if_kept(asked.frame);
        if (is_in_group(key)) return one_by_one(messages.subspan(taken));  // it waits for the first
        out_ = asked.out;
        const auto said = said_before(asked.frame, key);
        if (!said) return said.error();
        if (!*said) group_.push_back({&asked, std::move(key), asked.out->size()});
        ++taken;
      }
      const engine::Result<bool> judged = judge_group();
      if (!judged) return judged.error();
      if (*judged) return keep_answers();
    } catch (const std::exception&) {
      start();
    }
    for (const Judged& one : group_)
      one.asked->out->resize(one.before);
    return one_by_one(messages.subspan(taken));
  }

  [[nodiscard]] bool is_in_group(const std::optional<MessageKey>& key) const {
    return key && std::ranges::any_of(group_, [&](const Judged& other) {
             return other.key && other.key->sender == key->sender &&
                    other.key->control == key->control;
           });
  }

  /// Those of the group, which were not said before, and those that did not come to it.
  engine::Status one_by_one(std::span<const Asked> others) {
    engine::Status done = engine::Done{};
    for (const Judged& one : std::exchange(group_, {}))
      if (done) done = answer_alone(*one.asked);
    for (const Asked& asked : others)
      if (done) done = answer_alone(asked);
    return done;
  }

  /// False: an order stands in it twice, and the second one is to be judged like the first one.
  engine::Result<bool> judge_group() {
    joined_.clear();
    begins_.clear();
    for (Judged& one : group_) {
      begins_.push_back(joined_.size());
      joined_.append(one.asked->frame.bytes).append("\r");
      one.unread = false;
    }
    at_ = 0;
    read(joined_);
    bool is_first = true;
    while (source_->next(block_)) {
      if (std::exchange(is_first, false) && has_repeats(block_)) return false;
      engine::Status kept = keep();
      if (!kept) return kept.error();
      checker_->check(block_, *history_, report_);
    }
    for (const Judged& one : group_)
      if (one.unread) hold_back(one.asked->frame, one.why);
    return true;
  }

  static bool has_repeats(const engine::OrderBlock& block) {
    using engine::FieldId;
    for (unsigned lane = 1; lane < block.size(); ++lane) {
      const auto same = [&](unsigned other, FieldId field) {
        return block.value(lane, field).aux == block.value(other, field).aux;
      };
      for (unsigned other = 0; other < lane; ++other)
        if (same(other, FieldId::PatientId) && same(other, FieldId::OrderId)) return true;
    }
    return false;
  }

  engine::Status keep_answers() {
    engine::Status done = engine::Done{};
    for (const Judged& one : group_) {
      if (!done || !one.key || one.unread) continue;
      done = keep_answer(*one.key, std::string_view(*one.asked->out).substr(one.before));
    }
    return done;
  }

  engine::Status keep_answer(const MessageKey& key, std::string_view answer) {
    return kept_->add_answer({key.sender, key.control, key.digest, clock_.since_epoch(), answer});
  }

  /// Where answers are kept.
  [[nodiscard]] std::optional<MessageKey> key_if_kept(const mllp::Frame& frame) const {
    const bool looks = kept_ != nullptr && options_.resend_window > 0;
    if (!looks || frame.kind != mllp::FrameKind::Whole) return std::nullopt;
    return key_of(frame.bytes);
  }

  /// Says again what was said to the message before.  False: it is to be judged.
  engine::Result<bool> said_before(const mllp::Frame& frame, const std::optional<MessageKey>& key) {
    if (!key) return false;
    const double oldest = clock_.since_epoch() - options_.resend_window;
    const auto said = kept_->answer_to(key->sender, key->control, oldest);
    if (!said) return said.error();
    if (*said) repeat(frame, *key, **said);
    return said->has_value();
  }

  /// Judges the message, or says again what was said to it before.
  engine::Status judge_once(const Asked& asked) {
    const auto key = key_if_kept(asked.frame);
    const auto said = said_before(asked.frame, key);
    if (!said) return said.error();
    if (*said) return engine::Done{};
    const std::size_t before = out_->size();
    engine::Status judged = judge(asked.frame);
    if (!judged || !key || unread_) return judged;
    return keep_answer(*key, std::string_view(*out_).substr(before));
  }

  void repeat(const mllp::Frame& frame, const MessageKey& key, const KeptAnswer& said) {
    if (said.digest != key.digest) {
      return refuse(frame, hl7v2::kControlIdUsed,
                    "another message of this sender had this control id (MSH-10) a short time ago");
    }
    *out_ += said.answer;
    watch_.repeated(said.answer);
  }

  engine::Status judge(const mllp::Frame& frame) {
    unread_ = false;
    read(frame.bytes);
    while (source_->next(block_)) {
      engine::Status kept = keep();
      if (!kept) return kept;
      checker_->check(block_, *history_, report_);
    }
    if (unread_) hold_back(frame, why_unread_);
    return engine::Done{};
  }

  engine::Status keep() {
    const engine::Days days{options_.as_of, today_};
    if (kept_ != nullptr) return kept_->add(block_, days, *history_);
    if (options_.scope == engine::HistoryScope::Store) begin_history(block_, days, *history_);
    return engine::Done{};
  }

  void write(const engine::Verdict& verdict, const engine::OrderSource& source) {
    const engine::RecordInfo& record = block_.record(verdict.lane);
    if (!begins_.empty()) find_message(record.offset);
    const bool unreadable = record.kind == engine::RecordKind::Unreadable;
    if (unreadable && !std::exchange(begins_.empty() ? unread_ : group_[at_].unread, true)) {
      const engine::Place place = source.record_place(block_, verdict.lane);
      (begins_.empty() ? why_unread_ : group_[at_].why) = {record.reason, place.at,
                                                           place.line - record.line + 1, 0};
    }
    if (record.kind != engine::RecordKind::Order && hl7v2::is_of_no_message(record.text)) {
      watch_.batch_is_off();
      trouble_ = "in a batch: " + record.reason;
    }
    watch_.judged(verdict);
    sink_->write(verdict, block_, source);
  }

  /// The message of the group that what stands at `offset` is of; offsets only grow.
  void find_message(std::uint64_t offset) {
    while (at_ + 1 < begins_.size() && begins_[at_ + 1] <= offset)
      ++at_;
    out_ = group_[at_].asked->out;
  }

  /// Puts the message into quarantine, where there is one.
  void hold_back(const mllp::Frame& frame, QuarantineReason why) {
    if (quarantine_ == nullptr) return;
    why.received = clock_.since_epoch();
    const auto key = key_of(frame.bytes);
    const std::string name = name_of(key ? key->digest : digest_of(frame.bytes));
    const engine::Status kept = quarantine_->put(name, frame.bytes, why);
    if (!kept) trouble_ = kept.error().message;
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
    watch_.judged(verdict);
    sink_->write(verdict, block_, refused_);
  }

  RulesInForce rules_;
  engine::ReadContext context_;
  AnswerOptions options_;
  const engine::Clock& clock_;
  engine::History* history_;
  AnswerWatch& watch_;
  KeptHistory* kept_;
  Quarantine* quarantine_;
  std::string trouble_;
  bool unread_ = false;  // something of the message being judged
  QuarantineReason why_unread_;

  /// A message that is judged with others.
  struct Judged {
    const Asked* asked;
    std::optional<MessageKey> key;
    std::size_t before;  // bytes of its text before its answers
    bool unread = false;
    QuarantineReason why{};
  };
  std::vector<Judged> group_;
  std::string joined_;                 // their bytes, one after the other
  std::vector<std::uint64_t> begins_;  // of each in joined_; empty: a message is judged alone
  std::size_t at_ = 0;                 // whose verdicts are being written
  ViewBytes* bytes_ = nullptr;         // the source's
  std::unique_ptr<hl7v2::Hl7Source> source_;
  std::unique_ptr<hl7v2::Hl7AckSink> sink_;
  std::unique_ptr<engine::Checker> checker_;
  engine::Checker::Report report_;
  engine::OrderBlock block_;
  Refused refused_;
  std::string* out_ = nullptr;
  std::int64_t today_ = 0;
};

Answerer::Answerer(RulesInForce rules, const AnswerOptions& options, const engine::Clock& clock,
                   engine::History& history, AnswerWatch& watch, const AnswerStores& stores)
    : work_(std::make_unique<Work>(std::move(rules), options, clock, history, watch, stores)) {}
Answerer::~Answerer() = default;

engine::Status Answerer::take_turn(std::span<const Asked> messages) {
  engine::Status done = answer(messages);
  if (done) done = end_turn();
  if (!done) give_turn_up();
  return done;
}

engine::Status Answerer::answer(std::span<const Asked> messages) {
  return with_memory([&] { return work_->answer(messages); });
}

engine::Status Answerer::end_turn() {
  return with_memory([this] { return work_->end_turn(); });
}

bool Answerer::hand_turn_over(const std::function<void()>& landed) {
  return work_->hand_turn_over(landed);
}

engine::Result<std::size_t> Answerer::settle() { return work_->settle(); }

void Answerer::give_turn_up() { work_->give_turn_up(); }

engine::Status Answerer::drop_old_answers() { return work_->drop_old_answers(); }

void Answerer::refuse(const mllp::Frame& frame, std::string& out) {
  work_->refuse_unkept(frame, out);
}

std::string Answerer::take_trouble() { return work_->take_trouble(); }

void Answerer::use(RulesInForce rules, engine::History& history) {
  work_->use(std::move(rules), history);
}

std::vector<engine::NotAssessed> Answerer::never_assessed() const {
  return work_->never_assessed();
}

}  // namespace meniscus::adapters
