// Contract: see connection.hpp.
#include "adapters/mllp/connection.hpp"

#include <boost/asio/buffer.hpp>
#include <boost/asio/error.hpp>
#include <utility>

namespace meniscus::adapters::mllp {

namespace {
constexpr std::chrono::milliseconds kStart = std::chrono::seconds(10);   // for TLS to agree
constexpr std::chrono::milliseconds kGoodbye = std::chrono::seconds(1);  // for the peer to close
}  // namespace

Connection::Connection(Host& host, std::unique_ptr<Channel> channel, std::uint64_t id,
                       std::string peer)
    : host_(host),
      channel_(std::move(channel)),
      id_(id),
      peer_(std::move(peer)),
      cutter_(host.limits().largest),
      timer_(channel_->socket().get_executor()) {}

void Connection::start() {
  wait(Wait::Start);
  channel_->start([self = shared_from_this()](const Channel::Error& problem) {
    if (self->closed_) return;
    if (problem) return self->close(Closed::Failed, problem.message());
    if (self->stopping_) return self->say_goodbye();
    self->wait(Wait::Idle);
    self->read();
  });
}

void Connection::go_on() {
  if (closed_ || in_work_ > 0 || sending_) return;
  while (in_work_ < kTogether && find_frame() && host_.take_place(*this)) {
    has_frame_ = false;
    ++in_work_;
    host_.work(shared_from_this(), frame_);
  }
  if (in_work_ > 0 || has_frame_) return wait(Wait::Work);
  if (at_end_) return close(Closed::ByPeer);
  if (stopping_) return say_goodbye();
  if (cutter_.is_ending()) {
    wait(Wait::LastByte);
  } else if (!cutter_.is_open()) {
    wait(Wait::Idle);
  } else if (waiting_ != Wait::Message) {
    wait(Wait::Message);
  }
  if (!reading_) read();
}

bool Connection::find_frame() {
  if (!has_frame_) has_frame_ = cutter_.next(frame_);
  say_noise();
  return has_frame_;
}

void Connection::read() {
  reading_ = true;
  channel_->read(cutter_.room(),
                 [self = shared_from_this()](const Channel::Error& problem, std::size_t count) {
                   self->reading_ = false;
                   if (!self->closed_) self->was_read(problem, count);
                 });
}

void Connection::was_read(const Channel::Error& problem, std::size_t count) {
  cutter_.add(count);
  if (problem == boost::asio::error::eof) {
    at_end_ = true;
    cutter_.end();
  } else if (problem && problem != boost::asio::error::operation_aborted) {
    return close(problem == boost::asio::error::connection_reset ? Closed::ByPeer : Closed::Failed,
                 problem.message());
  }
  go_on();
}

void Connection::say_noise() {
  if (noise_said_ || cutter_.skipped() == 0) return;
  noise_said_ = true;
  host_.events().skipped(id_);
}

void Connection::answer(std::string bytes) {
  if (closed_) return;
  if (answers_.empty()) {
    answers_ = std::move(bytes);
  } else {
    answers_ += bytes;
  }
  if (--in_work_ > 0) return;
  if (answers_.empty()) return go_on();
  sending_ = true;
  channel_->write(answers_,
                  [self = shared_from_this()](const Channel::Error& problem, std::size_t) {
                    if (!self->closed_) self->was_sent(problem);
                  });
  if (sending_ && !closed_) wait(Wait::Answer);
}

void Connection::was_sent(const Channel::Error& problem) {
  if (problem) return close(Closed::Failed, problem.message());
  sending_ = false;
  answers_.clear();
  waiting_ = Wait::Idle;  // the next message has its own time
  go_on();
}

void Connection::stop() {
  if (stopping_ || closed_) return;
  stopping_ = true;
  // A read that waits gives what it has and is followed by go_on(); a message in work likewise.
  Channel::Error ignored;
  if (reading_) channel_->socket().cancel(ignored);
}

/// No more answers come.  What the peer still sends is read and dropped until it closes too:
/// closing with bytes unread would take the last answers back.
void Connection::say_goodbye() {
  if (leaving_) return;
  leaving_ = true;
  Channel::Error ignored;
  channel_->socket().shutdown(Channel::Socket::shutdown_send, ignored);
  wait(Wait::Goodbye);
  read_away();
}

void Connection::read_away() {
  const std::span<char> room = cutter_.room();
  channel_->socket().async_read_some(
      boost::asio::buffer(room.data(), room.size()),
      [self = shared_from_this()](const Channel::Error& problem, std::size_t) {
        if (self->closed_) return;
        if (problem) return self->close(Closed::Stopping);
        self->read_away();
      });
}

/// Of the waits for the peer.
std::chrono::milliseconds Connection::allowed(Wait what) const {
  const Limits& limits = host_.limits();
  switch (what) {
    case Wait::Start:
      return kStart;
    case Wait::Idle:
      return limits.idle;
    case Wait::Message:
      return limits.message;
    case Wait::LastByte:
      return limits.last_byte;
    case Wait::Work:
      return std::chrono::milliseconds::max();
    case Wait::Answer:
      return limits.answer;
    case Wait::Goodbye:
      return kGoodbye;
  }
  return kStart;
}

void Connection::wait(Wait what) {
  waiting_ = what;
  if (what == Wait::Work) return;  // our own time, not the peer's
  due_ = std::chrono::steady_clock::now() + allowed(what);
  if (!armed_ || due_ < timer_.expiry()) arm();
}

void Connection::arm() {
  armed_ = true;
  timer_.expires_at(due_);
  timer_.async_wait([self = weak_from_this()](const Channel::Error& problem) {
    const std::shared_ptr<Connection> here = self.lock();
    if (here == nullptr || here->closed_ || problem) return;  // set anew, or over
    here->armed_ = false;
    if (here->waiting_ == Wait::Work) return;
    if (std::chrono::steady_clock::now() < here->due_) return here->arm();
    here->timed_out();
  });
}

void Connection::timed_out() {
  switch (waiting_) {
    case Wait::Start:
      return close(Closed::Failed, "nothing was agreed in time");
    case Wait::Idle:
      return close(Closed::Idle);
    case Wait::Message:
      return close(Closed::Slow);
    case Wait::LastByte:
      host_.events().bare_end(id_);
      cutter_.end_without_cr();
      waiting_ = Wait::Idle;
      return go_on();
    case Wait::Work:
      return;
    case Wait::Answer:
      return close(Closed::NotTaken);
    case Wait::Goodbye:
      return close(Closed::Stopping);
  }
}

void Connection::close(Closed reason, std::string_view why) {
  if (closed_) return;
  closed_ = true;
  Channel::Error ignored;
  timer_.cancel(ignored);
  channel_->socket().close(ignored);
  host_.left(*this, reason, why);
}

}  // namespace meniscus::adapters::mllp
