// Takes connections and the messages that come over them, and sends the answers.
//
//   Server server(context, limits, events, [&](Server::Work work) { ... });
//   server.listen(endpoint);
//   ... later, for each work:  server.answer(work, bytes);
//
// Bounded: a fixed number of connections and of messages in work.  Where either is full, nothing is
//          dropped: connections wait to be accepted, messages to be read.
// Threads: all on the thread that runs the io_context.
#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <string>
#include <unordered_map>

#include "adapters/mllp/connection.hpp"
#include "adapters/mllp/listener.hpp"
#include "engine/base/result.hpp"

namespace meniscus::adapters::mllp {

class Server : private Host {
 public:
  struct Work {
    std::shared_ptr<Connection> from;
    Frame frame;  // lives until the work, and what came with it from there, is answered
  };
  using Handler = std::function<void(Work)>;
  using MakeChannel = std::function<std::unique_ptr<Channel>(Channel::Socket)>;

  /// `context` and `events` outlive the server; the server outlives all handlers of `context`.
  /// `handler` must not answer before it returns.
  Server(boost::asio::io_context& context, const Limits& limits, Events& events, Handler handler,
         MakeChannel make_channel = plain_channel);

  /// Begins to accept, and gives the address that was taken.  Errors: Input, one sentence.
  engine::Result<boost::asio::ip::tcp::endpoint> listen(
      const boost::asio::ip::tcp::endpoint& endpoint) {
    return listener_.listen(endpoint);
  }

  /// Sends `bytes` (none where they are empty), and makes room for other work.  A connection's
  /// works are answered in their order; the answers to those that came together leave together.
  void answer(const Work& work, std::string bytes);

  /// Accepts nothing more, and closes each connection once what was read of it is answered.
  void stop();

  [[nodiscard]] std::size_t connections() const { return connections_.size(); }
  [[nodiscard]] std::size_t in_work() const { return in_work_; }

 private:
  bool take_place(Connection& connection) override;
  void work(const std::shared_ptr<Connection>& connection, const Frame& frame) override;
  void left(Connection& connection, Closed reason, std::string_view why) override;
  [[nodiscard]] const Limits& limits() const override { return limits_; }
  [[nodiscard]] Events& events() const override { return events_; }

  bool has_room();
  void accepted(Channel::Socket socket);

  Limits limits_;
  Events& events_;
  Handler handler_;
  MakeChannel make_channel_;
  Listener listener_;
  std::unordered_map<std::uint64_t, std::shared_ptr<Connection>> connections_;
  std::deque<std::weak_ptr<Connection>> waiting_;  // for a place in work
  std::uint64_t opened_ = 0;
  std::size_t in_work_ = 0;
  bool stopping_ = false;
};

}  // namespace meniscus::adapters::mllp
