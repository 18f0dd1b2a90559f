// Accepts connections at one address, as many as somebody wants at the time.
//
// Waits:    while `wanted` says no, connections stay in the system's queue; go_on() asks again.
// Failure:  an accept that fails (no descriptors are left) is said and tried again a little later.
// Threads:  all on the thread that runs the io_context.
#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>
#include <functional>
#include <string_view>

#include "engine/base/result.hpp"

namespace meniscus::adapters::mllp {

class Listener {
 public:
  using Endpoint = boost::asio::ip::tcp::endpoint;
  using Socket = boost::asio::ip::tcp::socket;
  struct Hooks {
    std::function<bool()> wanted;
    std::function<void(Socket)> accepted;
    std::function<void(std::string_view why)> failed;
  };

  Listener(boost::asio::io_context& context, Hooks hooks)
      : hooks_(std::move(hooks)), acceptor_(context), again_(context) {}

  /// Begins, and gives the address that was taken.  Errors: Input, one sentence.
  engine::Result<Endpoint> listen(const Endpoint& endpoint);
  /// Another one may be wanted now.
  void go_on();
  void stop();

 private:
  void later();

  Hooks hooks_;
  boost::asio::ip::tcp::acceptor acceptor_;
  boost::asio::steady_timer again_;
  bool waiting_ = false;  // for a connection, or for the next try
  bool stopped_ = false;
};

}  // namespace meniscus::adapters::mllp
