// Contract: see listener.hpp.
#include "adapters/mllp/listener.hpp"

#include <string>

#include "adapters/mllp/address.hpp"

namespace meniscus::adapters::mllp {

namespace asio = boost::asio;

namespace {
constexpr std::chrono::milliseconds kAgain{100};
}

engine::Result<Listener::Endpoint> Listener::listen(const Endpoint& endpoint) {
  boost::system::error_code problem;
  acceptor_.open(endpoint.protocol(), problem);
  if (!problem) acceptor_.set_option(asio::socket_base::reuse_address(true), problem);
  if (!problem) acceptor_.bind(endpoint, problem);
  if (!problem) acceptor_.listen(asio::socket_base::max_listen_connections, problem);
  if (problem) {
    return engine::Error{engine::Errc::Input,
                         "cannot listen on " + to_text(endpoint) + ": " + problem.message(), 0, 0};
  }
  go_on();
  return acceptor_.local_endpoint();
}

void Listener::go_on() {
  if (waiting_ || stopped_ || !acceptor_.is_open() || !hooks_.wanted()) return;
  waiting_ = true;
  acceptor_.async_accept([this](const boost::system::error_code& problem, Socket socket) {
    waiting_ = false;
    if (stopped_) return;
    if (problem) {
      hooks_.failed(problem.message());
      return later();
    }
    hooks_.accepted(std::move(socket));
    go_on();
  });
}

void Listener::later() {
  waiting_ = true;
  again_.expires_after(kAgain);
  again_.async_wait([this](const boost::system::error_code& problem) {
    waiting_ = false;
    if (!problem) go_on();
  });
}

void Listener::stop() {
  stopped_ = true;
  boost::system::error_code ignored;
  acceptor_.close(ignored);
  again_.cancel(ignored);
}

}  // namespace meniscus::adapters::mllp
