// One peer: reads, has the frames that came whole answered, sends the answers, and only then reads
// on.
//
// Together: up to kTogether frames that came in one piece are in work at a time, and their answers
//           leave in one piece, in the order of the frames.
// Reading:  stops while a message is in work; a peer that sends faster fills its own buffers.
// Time:     one timer; it is set anew only when a nearer end is due, so a quick message costs none.
// Threads:  all on the thread of its io_context.
#pragma once

#include <boost/asio/steady_timer.hpp>
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

#include "adapters/mllp/channel.hpp"
#include "adapters/mllp/frame_cutter.hpp"
#include "adapters/mllp/limits.hpp"

namespace meniscus::adapters::mllp {

class Connection;

/// What a connection asks of its server.
class Host {
 public:
  Host() = default;
  Host(const Host&) = delete;
  Host& operator=(const Host&) = delete;
  virtual ~Host() = default;

  /// A place for one more message in work; where there is none, the connection is told later by
  /// go_on().
  virtual bool take_place(Connection& connection) = 0;
  /// To be answered by the connection's answer(), in the order of the frames; not before this
  /// returns.  The frame lives until then.
  virtual void work(const std::shared_ptr<Connection>& connection, const Frame& frame) = 0;
  virtual void left(Connection& connection, Closed reason, std::string_view why) = 0;
  [[nodiscard]] virtual const Limits& limits() const = 0;
  [[nodiscard]] virtual Events& events() const = 0;
};

class Connection : public std::enable_shared_from_this<Connection> {
 public:
  /// Of the messages in work at a time, so that others find places too.
  static constexpr std::size_t kTogether = 16;

  Connection(Host& host, std::unique_ptr<Channel> channel, std::uint64_t id, std::string peer);

  void start();
  /// Handles the frames that are there, then reads on.
  void go_on();
  /// What the next message in work is answered by, nothing where `bytes` is empty; sent with the
  /// answer of the last one.
  void answer(std::string bytes);
  /// Answers what was read whole, then closes.
  void stop();

  [[nodiscard]] std::uint64_t id() const { return id_; }
  [[nodiscard]] const std::string& peer() const { return peer_; }

 private:
  enum class Wait : std::uint8_t { Start, Idle, Message, LastByte, Work, Answer, Goodbye };

  bool find_frame();
  void read();
  void was_read(const Channel::Error& problem, std::size_t count);
  void was_sent(const Channel::Error& problem);
  void say_noise();
  void wait(Wait what);
  void arm();
  void timed_out();
  void say_goodbye();
  void read_away();
  void close(Closed reason, std::string_view why = {});
  [[nodiscard]] std::chrono::milliseconds allowed(Wait what) const;

  Host& host_;
  std::unique_ptr<Channel> channel_;
  std::uint64_t id_;
  std::string peer_;
  FrameCutter cutter_;
  std::string answers_;
  boost::asio::steady_timer timer_;
  std::chrono::steady_clock::time_point due_;
  Wait waiting_ = Wait::Start;
  bool armed_ = false;  // the timer is running
  Frame frame_;         // the next one, while it waits for a place
  bool has_frame_ = false;
  std::size_t in_work_ = 0;  // frames that are not answered yet
  bool sending_ = false;
  bool reading_ = false;
  bool at_end_ = false;  // the peer sends no more
  bool stopping_ = false;
  bool leaving_ = false;  // saying goodbye
  bool closed_ = false;
  bool noise_said_ = false;
};

}  // namespace meniscus::adapters::mllp
