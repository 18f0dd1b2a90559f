// A TCP socket as it is.
//
// Writing: at once, as far as the socket takes it: an answer goes out by one call, without a turn
//          of the loop.
#include <boost/asio/buffer.hpp>
#include <boost/asio/error.hpp>
#include <boost/asio/write.hpp>
#include <utility>

#include "adapters/mllp/channel.hpp"

namespace meniscus::adapters::mllp {
namespace {

class PlainChannel final : public Channel {
 public:
  explicit PlainChannel(Socket socket) : socket_(std::move(socket)) {
    Error problem;
    socket_.non_blocking(true, problem);
    writes_at_once_ = !problem;
  }

  void start(Started started) override { started({}); }
  void read(std::span<char> into, Done done) override {
    socket_.async_read_some(boost::asio::buffer(into.data(), into.size()), std::move(done));
  }
  void write(std::string_view bytes, Done done) override {
    Error problem;
    const auto all = boost::asio::buffer(bytes);
    const std::size_t sent = writes_at_once_ ? socket_.write_some(all, problem) : 0;
    if (problem && problem != boost::asio::error::would_block) return done(problem, 0);
    if (sent == bytes.size()) return done({}, sent);
    boost::asio::async_write(socket_, all + sent, std::move(done));
  }
  Socket& socket() override { return socket_; }

 private:
  Socket socket_;
  bool writes_at_once_ = false;
};

}  // namespace

std::unique_ptr<Channel> plain_channel(Channel::Socket socket) {
  return std::make_unique<PlainChannel>(std::move(socket));
}

}  // namespace meniscus::adapters::mllp
