// Contract: see server.hpp.
#include "adapters/mllp/server.hpp"

#include <utility>
#include <vector>

namespace meniscus::adapters::mllp {

namespace asio = boost::asio;

Server::Server(asio::io_context& context, const Limits& limits, Events& events, Handler handler,
               MakeChannel make_channel)
    : limits_(limits),
      events_(events),
      handler_(std::move(handler)),
      make_channel_(std::move(make_channel)),
      listener_(context, {[this] { return has_room(); },
                          [this](Channel::Socket socket) { accepted(std::move(socket)); },
                          [this](std::string_view why) { events_.not_accepted(why); }}) {}

bool Server::has_room() {
  if (connections_.size() < limits_.connections) return true;
  events_.connections_full();
  return false;
}

void Server::accepted(Channel::Socket socket) {
  Channel::Error gone;
  socket.set_option(asio::ip::tcp::no_delay(true), gone);
  const asio::ip::tcp::endpoint peer = socket.remote_endpoint(gone);
  const std::uint64_t id = ++opened_;
  Host& host = *this;
  const auto connection = std::make_shared<Connection>(host, make_channel_(std::move(socket)), id,
                                                       peer.address().to_string());
  connections_.emplace(id, connection);
  events_.opened(id, connection->peer());
  connection->start();
}

bool Server::take_place(Connection& connection) {
  if (in_work_ < limits_.in_work) {
    ++in_work_;
    return true;
  }
  if (waiting_.empty()) events_.work_full();
  waiting_.push_back(connection.weak_from_this());
  return false;
}

void Server::work(const std::shared_ptr<Connection>& connection, const Frame& frame) {
  handler_({connection, frame});
}

void Server::answer(const Work& work, std::string bytes) {
  --in_work_;
  // Those that wait come first: with its answer sent, this connection may ask for a place again.
  while (!waiting_.empty() && in_work_ < limits_.in_work) {
    const std::shared_ptr<Connection> next = waiting_.front().lock();
    waiting_.pop_front();
    if (next != nullptr) next->go_on();
  }
  work.from->answer(std::move(bytes));
}

void Server::left(Connection& connection, Closed reason, std::string_view why) {
  const std::uint64_t id = connection.id();
  connections_.erase(id);  // its own callbacks keep the connection until they are through
  events_.closed(id, reason, why);
  listener_.go_on();
}

void Server::stop() {
  if (stopping_) return;
  stopping_ = true;
  listener_.stop();
  std::vector<std::shared_ptr<Connection>> all;
  for (const auto& [id, connection] : connections_)
    all.push_back(connection);
  for (const std::shared_ptr<Connection>& connection : all)
    connection->stop();
}

}  // namespace meniscus::adapters::mllp
