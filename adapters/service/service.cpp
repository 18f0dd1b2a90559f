// Contract: see service.hpp.
#include "adapters/service/service.hpp"

#include <algorithm>
#include <boost/asio/post.hpp>
#include <chrono>
#include <cmath>
#include <exception>
#include <iterator>
#include <thread>
#include <utility>

namespace meniscus::adapters {

namespace {
std::string_view sentence(mllp::Closed reason) {
  switch (reason) {
    case mllp::Closed::ByPeer:
      return "closed by the peer";
    case mllp::Closed::Idle:
      return "closed: no message for the idle time";
    case mllp::Closed::Slow:
      return "closed: a message was begun and not ended in time";
    case mllp::Closed::NotTaken:
      return "closed: the peer did not take an answer in time";
    case mllp::Closed::Failed:
      return "closed: ";
    case mllp::Closed::Stopping:
      return "closed: the service stops";
  }
  return "closed";
}

/// Posts, from another thread; where there is no memory for that, a little later.
template <class Handler>
void post_surely(boost::asio::io_context& context, const Handler& handler) {
  while (true) {
    try {
      boost::asio::post(context, handler);
      return;
    } catch (const std::exception&) {
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
  }
}

std::string connection(std::uint64_t id) { return "connection " + std::to_string(id); }
}  // namespace

Service::Service(boost::asio::io_context& context, const ServiceOptions& options,
                 RulesInForce rules, const engine::Clock& clock, ServiceLog log, LoadRules load,
                 ServiceStores stores)
    : context_(context),
      options_(options),
      rules_(std::move(rules)),
      clock_(clock),
      log_(std::move(log)),
      stores_(std::move(stores)),
      server_(
          context, options_.limits, *this,
          [this](mllp::Server::Work work) { take(std::move(work)); }, options_.make_channel),
      reloader_(context, std::move(load),
                [this](std::optional<RulesInForce> fresh) { loaded(std::move(fresh)); }),
      tried_day_(rules_.day) {
  make_history();
  asked_.reserve(options_.limits.in_work);
  answerer_ =
      std::make_unique<Answerer>(rules_, options_.answers, clock_, *history_, metrics_,
                                 AnswerStores{stores_.kept.get(), stores_.quarantine.get()});
}

/// For what the rules in force look back on.
void Service::make_history() {
  look_back_ = rules_.program->look_back;
  kept_ = rules_.program->history_fields;
  kept_written_ = rules_.program->history_written;
  history_ = std::make_unique<engine::History>(look_back_, kept_, kept_written_);
}

engine::Result<boost::asio::ip::tcp::endpoint> Service::listen(
    const boost::asio::ip::tcp::endpoint& endpoint) {
  say_never_assessed();
  return server_.listen(endpoint);
}

engine::Status Service::load_history() {
  engine::Status loaded = engine::Done{};
  drop_old_orders();
  if (stores_.kept != nullptr)
    loaded = stores_.kept->load(rules_.program, clock_.today(), *history_);
  know_since(options_.history_since, *history_);
  return loaded;
}

void Service::say_never_assessed() const {
  for (const engine::NotAssessed& line : answerer_->never_assessed()) {
    std::string text =
        "this feed never carries " + line.missing + "; not assessed, or only in part:";
    for (const std::string_view rule : line.rules)
      text.append(" ").append(rule);
    log_(LineLevel::Warn, text);
  }
}

/// A whole message has come.  It is judged in the next turn of the loop, with those that came with
/// it.
void Service::take(mllp::Server::Work work) {
  queue_.push_back({std::move(work), clock_.seconds(), {}});
  schedule();
}

void Service::schedule() {
  if (std::exchange(scheduled_, true)) return;
  boost::asio::post(context_, [this] {
    scheduled_ = false;
    judge_all();
  });
}

void Service::judge_all() {
  if (waits_for_the_day() || queue_.empty()) return;  // loaded() comes back here
  if (!flights_.empty() && !judges_beside()) return;  // land() does
  ready_.swap(queue_);
  if (!judge(ready_)) {
    give_up();
  } else if (waits_for_commit() || !hand_over()) {
    finish_turns();
    if (!ready_.empty()) commit();
  }
  drop_old_answers();
}

/// A turn is judged while one is brought to the disk, unless that takes much longer: then those
/// that come meanwhile share one commit with those that come again once they are answered.
bool Service::judges_beside() const { return last_.kept <= 2 * last_.judged; }

/// A message alone would only wait for the other thread to wake up, where commits are quick.
bool Service::waits_for_commit() const {
  constexpr double kQuick = 0.001;  // seconds
  return flights_.empty() && ready_.size() == 1 && last_.kept < kQuick;
}

/// Adds the messages to the open turn.  False: the turn is to be given up.
bool Service::judge(std::span<Message> messages) {
  const double began = clock_.seconds();
  const engine::Status done = answerer_->answer(asked(messages));
  judged_ += clock_.seconds() - began;
  return is_well(done);
}

/// In a turn of its own.
bool Service::judge_alone(Message& message) {
  return is_well(answerer_->take_turn(asked({&message, 1})));
}

/// Logs what went wrong.
bool Service::is_well(const engine::Status& done) {
  const std::string trouble = answerer_->take_trouble();
  if (!trouble.empty()) log_(LineLevel::Error, trouble);
  if (!done) log_(LineLevel::Error, done.error().message);
  return done.has_value();
}

/// What the answers of the open turn depend on is brought to the disk by another thread; land()
/// goes on.
bool Service::hand_over() {
  const std::uint64_t number = flown_ + 1;
  const auto landed = [this, number] {
    const double at = clock_.seconds();
    post_surely(context_, [this, number, at] {
      if (!flights_.empty() && flights_.front().number <= number) land(at);
    });
  };
  try {
    flights_.push_back(
        {{}, number, clock_.seconds(), judged_, boost::asio::make_work_guard(context_)});
    if (answerer_->hand_turn_over(landed)) {
      flown_ = number;
      judged_ = 0;
      flights_.back().messages.swap(ready_);
      return true;
    }
    flights_.pop_back();
  } catch (const std::exception&) {  // no memory
    if (!flights_.empty() && flights_.back().number == number) flights_.pop_back();
  }
  return false;
}

void Service::commit() {
  const double began = clock_.seconds();
  const bool ended = is_well(answerer_->end_turn());
  const double now = clock_.seconds();
  last_ = {now, now - began, std::exchange(judged_, 0)};
  if (ended) return release(ready_);
  if (ready_.size() > 1) return give_up();
  answerer_->give_turn_up();
  refuse(ready_.front());
  release(ready_);
}

/// Waits until some of the turns that were handed over are kept, and answers them.  False: those
/// that are left are not kept.  `at`: when the commit ended.
bool Service::settle(double at) {
  const auto kept = answerer_->settle();
  if (!kept) return is_well(kept.error());
  last_ = {at, at - std::max(flights_.front().since, last_.at), 0};
  for (std::size_t i = 0; i < *kept; ++i) {
    Flight landed = std::move(flights_.front());
    flights_.pop_front();
    last_.judged += landed.judged;
    release(landed.messages);
  }
  return *kept > 0;
}

void Service::land(double at) {
  if (!settle(at)) return give_up();
  if (!queue_.empty()) schedule();
}

/// What was read whole is answered.
void Service::finish_turns() {
  while (!flights_.empty())
    land(clock_.seconds());
}

/// The open turn cannot be kept as a whole, or one that it builds on was not: each message is tried
/// by itself, in its order.
void Service::give_up() {
  while (!flights_.empty() && settle(clock_.seconds()))
    continue;
  answerer_->give_turn_up();
  std::vector<Message> all;
  for (Flight& flight : flights_)
    std::ranges::move(flight.messages, std::back_inserter(all));
  std::ranges::move(ready_, std::back_inserter(all));
  flights_.clear();
  ready_.clear();
  for (Message& message : all)
    if (!judge_alone(message)) refuse(message);
  judged_ = 0;
  release(all);
  if (!queue_.empty()) schedule();
}

/// As the answerer takes them; takes no memory.
std::span<const Asked> Service::asked(std::span<Message> messages) {
  asked_.clear();
  for (Message& message : messages) {
    message.bytes.clear();
    asked_.push_back({message.work.frame, &message.bytes});
  }
  return asked_;
}

void Service::refuse(Message& message) {
  message.bytes.clear();
  answerer_->refuse(message.work.frame, message.bytes);
  metrics_.unkept();
  is_unkept_ = true;
  reached_ = -1;
  log_(LineLevel::Error, "a message is refused: its orders could not be kept");
}

/// At the start and with each new day's rules; where it fails, the next time.  What the rules look
/// back on always stays.
void Service::drop_old_orders() {
  if (stores_.kept == nullptr || !options_.history_keep) return;
  const auto needed = static_cast<std::int64_t>(std::ceil(rules_.program->look_back / 86400.0));
  const auto dropped =
      stores_.kept->prune(clock_.today() - std::max(needed, *options_.history_keep));
  if (!dropped) return log_(LineLevel::Error, dropped.error().message);
  if (*dropped > 0)
    log_(LineLevel::Info, std::to_string(*dropped) + " old orders are dropped from the history");
}

/// Now and then; where it fails, the next time.
void Service::drop_old_answers() {
  constexpr double kApart = 600;
  const double now = clock_.since_epoch();
  if (now - answers_dropped_ < kApart) return;
  answers_dropped_ = now;
  finish_turns();
  is_well(answerer_->drop_old_answers());
}

/// The one place where answers leave.
void Service::release(std::vector<Message>& messages) {
  const double now = clock_.seconds();
  for (Message& message : messages) {
    ++answered_;
    metrics_.answered(message.work.frame.bytes, message.bytes);
    metrics_.took(message.work.from->peer(), now - message.since, now);
    if (log_.wants(LineLevel::Debug)) {
      log_(LineLevel::Debug, connection(message.work.from->id()) + ": a message of " +
                                 std::to_string(message.work.frame.bytes.size()) +
                                 " bytes is answered");
    }
    server_.answer(message.work, std::move(message.bytes));
  }
  messages.clear();
}

/// Local changes end at midnight, and so may a rule: nothing is judged by the rules of yesterday
/// before those of today were tried.
bool Service::waits_for_the_day() {
  if (!options_.follows_days) return false;
  const std::int64_t today = clock_.today();
  if (today != rules_.day && today != tried_day_) {
    tried_day_ = today;
    awaiting_day_ = true;
    log_(LineLevel::Info, "a new day: loading its rules");
    reloader_.start();
  }
  return awaiting_day_;
}

void Service::reload() {
  log_(LineLevel::Info, "loading the rules again");
  reloader_.start();
}

void Service::loaded(std::optional<RulesInForce> rules) {
  awaiting_day_ = false;
  if (rules && !history_serves(*rules->program)) {
    log_(LineLevel::Error,
         "the new rules look back on more than the service has kept; start it "
         "again to put them into force");
    rules.reset();
  }
  metrics_.reloaded(rules.has_value());
  if (rules) {
    use(std::move(*rules));
  } else {
    log_(LineLevel::Error,
         "the rules were not loaded: those that were in force stay, " + rules_.program->hash);
  }
  if (!queue_.empty()) schedule();
}

/// History holds what the rules at the start look back on, and for so long; rules that ask for more
/// would take silence for an answer.
bool Service::history_serves(const engine::Program& program) const {
  return stores_.kept != nullptr ||
         (program.look_back <= look_back_ && (program.history_fields & ~kept_).none() &&
          (program.history_written & ~kept_written_).none());
}

void Service::use(RulesInForce rules) {
  finish_turns();
  rules_ = rules;
  if (stores_.kept != nullptr) {
    // Read again from the store, patient by patient: with what these rules look back on.
    make_history();
    const engine::Status loaded = load_history();
    if (!loaded) log_(LineLevel::Error, loaded.error().message);
  }
  answerer_->use(std::move(rules), *history_);
  log_(LineLevel::Info, "in force: " + std::to_string(rules_.program->rules.size()) + " rules, " +
                            rules_.program->hash);
  say_never_assessed();
}

/// A store that is away refuses every message; who asks sends them elsewhere, and hears when it is
/// back without a message that would find out.  A commit that does not end is no answer either.
bool Service::is_store_away() {
  constexpr double kLong = 5;  // seconds
  if (stores_.kept == nullptr) return false;
  const double now = clock_.seconds();
  if (!flights_.empty()) return is_unkept_ || now - flights_.front().since > kLong;
  if (reached_ >= 0 && now - reached_ < 1) return is_away_;
  reached_ = now;
  // After a message that could not be kept only a write tells; nobody may send one to find out.
  is_away_ = !(is_unkept_ ? stores_.kept->try_to_keep() : stores_.kept->reach());
  is_unkept_ = is_unkept_ && is_away_;
  return is_away_;
}

std::string Service::why_not_ready() {
  if (stopped_ != nullptr) return "the service stops";
  if (is_store_away()) {
    return is_unkept_ ? "the history cannot be written; every order is refused"
                      : "the history cannot be reached; every order is refused";
  }
  const bool stale = options_.follows_days && !awaiting_day_ && rules_.day != clock_.today() &&
                     tried_day_ == clock_.today();
  if (stale) return "the rules of today could not be loaded; earlier ones are in force";
  return {};
}

std::string Service::metrics() const {
  const auto quarantined = stores_.quarantine == nullptr
                               ? std::nullopt
                               : std::optional<std::size_t>(stores_.quarantine->size());
  return metrics_.text({server_.connections(), server_.in_work(), history_->records(),
                        history_->patients(), clock_.seconds(), rules_.program->hash, quarantined,
                        options_.certificate_end ? options_.certificate_end() : std::nullopt});
}

void Service::stop(std::function<void()> stopped) {
  if (stopped_ != nullptr) return;
  log_(LineLevel::Info, "stopping: what was received is answered first");
  stopped_ = std::move(stopped);
  server_.stop();
  say_stopped();
}

void Service::say_stopped() {
  if (stopped_ == nullptr || server_.connections() > 0) return;
  log_(LineLevel::Info, "stopped; messages answered: " + std::to_string(answered_));
  boost::asio::post(context_, std::exchange(stopped_, [] {}));
}

void Service::opened(std::uint64_t id, std::string_view peer) {
  log_(LineLevel::Info, connection(id) + " from " + std::string(peer));
}

void Service::closed(std::uint64_t id, mllp::Closed reason, std::string_view why) {
  log_(LineLevel::Info, connection(id) + " " + std::string(sentence(reason)) + std::string(why));
  say_stopped();
}

void Service::skipped(std::uint64_t id) {
  log_(LineLevel::Warn, connection(id) + ": bytes outside of frames are skipped");
}

void Service::bare_end(std::uint64_t id) {
  log_(LineLevel::Warn, connection(id) + ": frames end without the byte CR, so each is answered " +
                            "late; let the sender end them with FS CR");
}

void Service::connections_full() {
  metrics_.waited_to_connect();
  if (std::exchange(connections_full_said_, true)) return;
  log_(LineLevel::Warn, "as many connections as --connections allows; new ones wait (said once)");
}

void Service::work_full() {
  metrics_.waited_for_work();
  if (std::exchange(work_full_said_, true)) return;
  log_(LineLevel::Warn, "as many messages in work as --in-work allows; reading waits (said once)");
}

void Service::not_accepted(std::string_view why) {
  log_(LineLevel::Error, "a connection could not be accepted: " + std::string(why));
}

}  // namespace meniscus::adapters
