// Contract: see load.hpp.
#include "tests/bench/service/load.hpp"

#include <algorithm>
#include <array>
#include <boost/asio.hpp>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <memory>
#include <string_view>

namespace meniscus::bench {

namespace asio = boost::asio;

namespace {
using Clock = std::chrono::steady_clock;

struct Load {
  const std::vector<std::string>& messages;
  std::size_t left;
  std::size_t together;
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
    unanswered_ = std::min(load_.left, load_.together);
    load_.left -= unanswered_;
    sent_ = unanswered_;
    piece_.clear();
    for (std::size_t i = 0; i < unanswered_; ++i)
      piece_ += load_.messages[load_.next++ % load_.messages.size()];
    began_ = Clock::now();
    asio::async_write(socket_, asio::buffer(piece_),
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
    socket_.async_read_some(asio::buffer(answer_),
                            [self = shared_from_this()](const auto& problem, std::size_t count) {
                              if (problem || count == 0) fail();
                              self->received(count);
                            });
  }

  void received(std::size_t count) {
    // A frame begins with VT and ends with FS and CR; neither VT nor FS stands inside of one.
    for (const char byte : std::string_view(answer_.data(), count)) {
      if (is_between_ && byte != '\x0B') fail();
      is_between_ = last_ == '\x1C' && byte == '\r';
      if (is_between_ && unanswered_-- == 0) fail();
      last_ = byte;
    }
    if (unanswered_ > 0 || !is_between_) return receive();
    const std::chrono::duration<double, std::micro> took = Clock::now() - began_;
    load_.result.microseconds.insert(load_.result.microseconds.end(), sent_, took.count());
    send();
  }

  asio::ip::tcp::socket socket_;
  Load& load_;
  Clock::time_point began_;
  std::string piece_;           // being sent
  std::size_t sent_ = 0;        // messages of it
  std::size_t unanswered_ = 0;  // of these
  std::array<char, 65536> answer_{};
  char last_ = 0;
  bool is_between_ = true;  // of two answers
};
}  // namespace

double LoadResult::within(double share) const {
  const auto at = static_cast<std::size_t>(share * static_cast<double>(microseconds.size()));
  return microseconds.empty() ? 0 : microseconds[std::min(at, microseconds.size() - 1)];
}

LoadResult send_load(const asio::ip::tcp::endpoint& server, const LoadShape& shape,
                     const std::vector<std::string>& messages) {
  asio::io_context context{1};
  Load load{messages, shape.count, shape.together, 0, {}};
  load.result.microseconds.reserve(shape.count);
  std::vector<std::shared_ptr<Sender>> senders;
  for (std::size_t i = 0; i < shape.connections; ++i) {
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
