// Contract: see orders_judge.hpp.
#include "adapters/plugin/orders_judge.hpp"

#include <utility>

#include "adapters/support/host_time.hpp"
#include "adapters/support/view_bytes.hpp"

namespace meniscus::adapters {

namespace {

bool is_same(const engine::CheckOptions& a, const engine::CheckOptions& b) {
  return a.today == b.today && a.never_carries == b.never_carries;
}

/// A JSON list.
std::string never_assessed_by(const engine::Checker& checker) {
  std::string list = "[";
  for (const engine::NotAssessed& line : checker.never_assessed()) {
    if (list.size() > 1) list += ',';
    list += "{\"missing\":";
    append_json(list, line.missing);
    list += ",\"rules\":[";
    for (std::size_t i = 0; i < line.rules.size(); ++i) {
      if (i > 0) list += ',';
      append_json(list, line.rules[i]);
    }
    list += "]}";
  }
  return list + "]";
}

}  // namespace

/// One call.
struct OrdersJudge::Call {
  engine::OrderSource& source;
  JsonLinesWriter& jsonl;
  MeniscusVerdicts& into;
  engine::Lanes without = 0;  // lanes of the block whose history cannot be had
};

OrdersJudge::OrdersJudge(const Wanted& wanted, Equipment equipment)
    : wanted_(wanted), equipment_(std::move(equipment)) {
  make_history();
}

/// They begin with a message; after an error nothing is left of one that was not answered.
void OrdersJudge::make_answers() {
  answers_ = std::make_unique<hl7v2::Hl7AckSink>(
      hl7v2::AckPolicy{*wanted_.on_hold, wanted_.fail_at},
      [this](std::string_view answer) {
        *answers_to_ += answer;
        return true;
      },
      message_time, equipment_.program.get());
}

bool OrdersJudge::has_own_history() const { return wanted_.history_from() != HistoryFrom::Host; }

void OrdersJudge::make_history() {
  const engine::Program& program = *equipment_.program;
  history_ = std::make_unique<engine::History>(program.look_back, program.history_fields,
                                               program.history_written);
  remembers_ = {program.look_back, program.history_fields, program.history_written};
  know_since(wanted_.history_since, *history_);
}

MeniscusStatus OrdersJudge::load(Complaint& complaint) {
  if (equipment_.kept == nullptr) return MENISCUS_OK;
  const engine::Status loaded = equipment_.kept->load(equipment_.program, local_day(), *history_);
  if (!loaded) return complaint.fail(MENISCUS_NO_HISTORY, "history", loaded.error().message);
  know_since(wanted_.history_since, *history_);
  return MENISCUS_OK;
}

MeniscusStatus OrdersJudge::judge(Format format, std::string_view bytes, MeniscusVerdicts& into,
                                  Complaint& complaint) {
  if (damaged_) return complaint.fail(MENISCUS_UNUSABLE);
  const engine::ReadContext context{equipment_.program.get(), &equipment_.feed};
  auto opened = open_orders({"the buffer", std::make_unique<ViewBytes>(bytes), 0}, format, context);
  if (!opened) {
    return complaint.fail(MENISCUS_UNKNOWN_FORMAT, "input",
                          "the first bytes do not say what format the input is in; name it");
  }
  make_checker(*opened->source);
  into.has_hl7 = wanted_.on_hold && opened->format == Format::Hl7;
  if (into.has_hl7 && answers_ == nullptr) make_answers();
  answers_to_ = &into.hl7;
  JsonLinesWriter jsonl(
      [&into](std::string_view text) -> engine::Status {
        into.jsonl += text;
        return engine::Done{};
      },
      equipment_.program->hash);
  jsonl.begin({1, equipment_.program->hash, equipment_.program->changes});
  Call call{*opened->source, jsonl, into};
  if (has_own_history()) return judge_guarded(call, complaint);
  make_history();
  host_->begin();
  return judge_guarded(call, complaint);
}

/// An error in the middle leaves nothing that the next call could go on from by mistake.
MeniscusStatus OrdersJudge::judge_guarded(Call& call, Complaint& complaint) {
  judging_ = true;
  damaged_ = has_own_history();  // until all went well
  try {
    const MeniscusStatus status = judge_all(call, complaint);
    judging_ = damaged_ = false;
    if (status != MENISCUS_OK) answers_.reset();
    return status;
  } catch (...) {
    judging_ = false;
    checker_.reset();
    answers_.reset();
    throw;
  }
}

MeniscusStatus OrdersJudge::judge_all(Call& call, Complaint& complaint) {
  const engine::Checker::Report report = [&](const engine::Verdict& verdict) {
    write(call, verdict);
  };
  while (call.source.next(block_)) {
    const MeniscusStatus known = know_before(call, complaint);
    if (known != MENISCUS_OK) return known;
    checker_->check(block_, *history_, report);
  }
  if (const engine::Status done = call.jsonl.finish(); !done) return MENISCUS_INTERNAL;
  return MENISCUS_OK;
}

/// What the patients of the block had before; and their orders are kept before they are judged.
MeniscusStatus OrdersJudge::know_before(Call& call, Complaint& complaint) {
  const engine::Days days{wanted_.as_of, options_.today};
  switch (wanted_.history_from()) {
    case HistoryFrom::Memory:
      begin_history(block_, days, *history_);
      return MENISCUS_OK;
    case HistoryFrom::Input:
      return MENISCUS_OK;
    case HistoryFrom::Store: {
      const engine::Status kept = equipment_.kept->keep(block_, days, *history_);
      if (kept) return MENISCUS_OK;
      return complaint.fail(MENISCUS_NOT_KEPT, "history", kept.error().message);
    }
    case HistoryFrom::Host:
      call.without = host_->ask(block_, *history_);
      return MENISCUS_OK;
  }
  return MENISCUS_INTERNAL;
}

void OrdersJudge::write(Call& call, const engine::Verdict& verdict) {
  const bool refused = (call.without >> verdict.lane & 1U) != 0;
  const engine::Verdict& said = refused ? refusal(verdict) : verdict;
  call.jsonl.write(said, block_, call.source);
  if (call.into.has_hl7) answers_->write(said, block_, call.source);
  call.into.all.push_back(copy_of(said, block_, call.source, wanted_.fail_at));
}

/// In place of what was judged without the patient's history.  As the order was not checked, its
/// record counts as one that could not be read: its message is answered AR.
const engine::Verdict& OrdersJudge::refusal(const engine::Verdict& judged) {
  refusal_.clear();
  refusal_.lane = judged.lane;
  refusal_.order = judged.order;
  refusal_.patient = judged.patient;
  refusal_.outcome = engine::Outcome::Hold;
  refusal_.as_of_day = judged.as_of_day;
  refusal_.history = judged.history;
  engine::Finding& finding = refusal_.add_finding();
  finding.rule = engine::kInternal;
  finding.grade = engine::Grade::Hold;
  finding.group = 1;
  finding.say = "The patient's history could not be had (" + host_->why(block_, judged.lane) +
                "): the order was not checked.";
  block_.record(judged.lane).kind = engine::RecordKind::Unreadable;
  return refusal_;
}

/// The one of the call before, where it would be the same.
void OrdersJudge::make_checker(const engine::OrderSource& source) {
  engine::CheckOptions options;
  options.today = local_day();
  options.as_of = wanted_.as_of;
  options.slips = wanted_.slips;
  options.answers = &equipment_.answers;
  options.never_carries = equipment_.feed.never_carries | source.never_carries();
  options.history = wanted_.history_from() == HistoryFrom::Input ? engine::HistoryScope::Input
                                                                 : engine::HistoryScope::Store;
  if (checker_ != nullptr && is_same(options, options_)) return;
  auto checker = std::make_unique<engine::Checker>(equipment_.program, options);
  never_assessed_ = never_assessed_by(*checker);
  if (!has_own_history()) {
    host_ = std::make_unique<HostHistory>(Host{wanted_.callback, wanted_.user_data},
                                          equipment_.program, options.today);
  }
  checker_ = std::move(checker);
  options_ = options;
}

bool OrdersJudge::serves(const engine::Program& program) const {
  return !has_own_history() || (program.look_back <= remembers_.look_back &&
                                (program.history_fields & ~remembers_.fields).none() &&
                                (program.history_written & ~remembers_.written).none());
}

void OrdersJudge::use(std::shared_ptr<const engine::Program> program, engine::Feed feed) {
  checker_.reset();
  if (answers_ != nullptr) answers_->use(program.get());
  equipment_.program = std::move(program);
  equipment_.feed = std::move(feed);
}

}  // namespace meniscus::adapters
