// Contract: see service.hpp.
#include "adapters/service/service.hpp"

#include <boost/asio/post.hpp>
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

std::string connection(std::uint64_t id) { return "connection " + std::to_string(id); }
}  // namespace

Service::Service(boost::asio::io_context& context, const ServiceOptions& options,
                 RulesInForce rules, const engine::Clock& clock, ServiceLog log)
    : context_(context),
      options_(options),
      rules_(std::move(rules)),
      clock_(clock),
      log_(std::move(log)),
      history_(std::make_unique<engine::History>(rules_.program->look_back,
                                                 rules_.program->history_fields,
                                                 rules_.program->history_written)),
      answerer_(std::make_unique<Answerer>(rules_, options_.policy, clock_, *history_)),
      server_(context, options_.limits, *this,
              [this](mllp::Server::Work work) { take(std::move(work)); }) {}

engine::Result<boost::asio::ip::tcp::endpoint> Service::listen(
    const boost::asio::ip::tcp::endpoint& endpoint) {
  say_never_assessed();
  return server_.listen(endpoint);
}

void Service::say_never_assessed() const {
  for (const engine::NotAssessed& line : answerer_->never_assessed()) {
    std::string text = "this feed never carries " + line.missing + "; never assessed:";
    for (const std::string_view rule : line.rules)
      text.append(" ").append(rule);
    log_(LineLevel::Warn, text);
  }
}

/// A whole message has come.  It is judged in the next turn of the loop, with those that came with
/// it.
void Service::take(mllp::Server::Work work) {
  queue_.push_back(std::move(work));
  if (scheduled_) return;
  scheduled_ = true;
  boost::asio::post(context_, [this] { judge_all(); });
}

void Service::judge_all() {
  scheduled_ = false;
  judging_.swap(queue_);
  for (mllp::Server::Work& work : judging_) {
    std::string bytes;
    answerer_->answer(work.frame, bytes);
    ready_.push_back({std::move(work), std::move(bytes)});
  }
  judging_.clear();
  release();
}

/// The one place where answers leave.  An answer is sent only after what it depends on is stored:
/// whatever keeps history beyond this process belongs before the loop.
void Service::release() {
  for (Ready& ready : ready_) {
    ++answered_;
    if (log_.wants(LineLevel::Debug)) {
      log_(LineLevel::Debug, connection(ready.work.from->id()) + ": a message of " +
                                 std::to_string(ready.work.frame.bytes.size()) +
                                 " bytes is answered");
    }
    server_.answer(ready.work, std::move(ready.bytes));
  }
  ready_.clear();
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
  if (std::exchange(connections_full_said_, true)) return;
  log_(LineLevel::Warn, "as many connections as --connections allows; new ones wait (said once)");
}

void Service::work_full() {
  if (std::exchange(work_full_said_, true)) return;
  log_(LineLevel::Warn, "as many messages in work as --in-work allows; reading waits (said once)");
}

void Service::not_accepted(std::string_view why) {
  log_(LineLevel::Error, "a connection could not be accepted: " + std::string(why));
}

}  // namespace meniscus::adapters
