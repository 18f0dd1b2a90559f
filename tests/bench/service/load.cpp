// Contract: see load.hpp.
#include "tests/bench/service/load.hpp"

#include <algorithm>
#include <array>
#include <boost/asio.hpp>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <memory>

namespace meniscus::bench {

namespace asio = boost::asio;

namespace {
using Clock = std::chrono::steady_clock;

struct Load {
  const std::vector<std::string>& messages;
  std::size_t left;
  std::size_t next = 0;
  LoadResult result;
};

class Sender : public std::enable_shared_from_this<Sender> {
 public:
  Sender(asio::io_context& context, Load& load) : socket_(context), load_(load) {}

  void connect(const asio::ip::tcp::endpoint& server) {
    socket_.connect(server);
    socket_.set_option(asio::ip::tcp::no_delay(true));
  }

  void send() {
    if (load_.left == 0) return;
    --load_.left;
    const std::string& message = load_.messages[load_.next++ % load_.messages.size()];
    began_ = Clock::now();
    got_ = 0;
    asio::async_write(socket_, asio::buffer(message),
                      [self = shared_from_this()](const auto& problem, std::size_t) {
                        if (problem) fail();
                        self->receive();
                      });
  }

 private:
  [[noreturn]] static void fail() {
    std::fputs("the server did not answer\n", stderr);
    std::exit(1);
  }

  void receive() {
    socket_.async_read_some(asio::buffer(answer_.data() + got_, answer_.size() - got_),
                            [self = shared_from_this()](const auto& problem, std::size_t count) {
                              if (problem || count == 0) fail();
                              self->received(count);
                            });
  }

  void received(std::size_t count) {
    got_ += count;
    const bool whole = got_ > 3 && answer_[got_ - 1] == '\r' && answer_[got_ - 2] == '\x1C';
    if (!whole) return receive();
    if (answer_[0] != '\x0B') fail();
    const std::chrono::duration<double, std::micro> took = Clock::now() - began_;
    load_.result.microseconds.push_back(took.count());
    send();
  }

  asio::ip::tcp::socket socket_;
  Load& load_;
  Clock::time_point began_;
  std::array<char, 65536> answer_{};
  std::size_t got_ = 0;
};
}  // namespace

double LoadResult::within(double share) const {
  const auto at = static_cast<std::size_t>(share * static_cast<double>(microseconds.size()));
  return microseconds.empty() ? 0 : microseconds[std::min(at, microseconds.size() - 1)];
}

LoadResult send_load(const asio::ip::tcp::endpoint& server, std::size_t connections,
                     std::size_t count, const std::vector<std::string>& messages) {
  asio::io_context context{1};
  Load load{messages, count, 0, {}};
  load.result.microseconds.reserve(count);
  std::vector<std::shared_ptr<Sender>> senders;
  for (std::size_t i = 0; i < connections; ++i) {
    senders.push_back(std::make_shared<Sender>(context, load));
    senders.back()->connect(server);
  }
  const Clock::time_point began = Clock::now();
  for (const std::shared_ptr<Sender>& sender : senders)
    sender->send();
  context.run();
  const std::chrono::duration<double> took = Clock::now() - began;
  load.result.per_second = static_cast<double>(load.result.microseconds.size()) / took.count();
  std::sort(load.result.microseconds.begin(), load.result.microseconds.end());
  return std::move(load.result);
}

}  // namespace meniscus::bench
