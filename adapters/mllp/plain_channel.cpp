// A TCP socket as it is.
#include <boost/asio/buffer.hpp>
#include <boost/asio/write.hpp>
#include <utility>

#include "adapters/mllp/channel.hpp"

namespace meniscus::adapters::mllp {
namespace {

class PlainChannel final : public Channel {
 public:
  explicit PlainChannel(Socket socket) : socket_(std::move(socket)) {}

  void start(Started started) override { started({}); }
  void read(std::span<char> into, Done done) override {
    socket_.async_read_some(boost::asio::buffer(into.data(), into.size()), std::move(done));
  }
  void write(std::string_view bytes, Done done) override {
    boost::asio::async_write(socket_, boost::asio::buffer(bytes), std::move(done));
  }
  Socket& socket() override { return socket_; }

 private:
  Socket socket_;
};

}  // namespace

std::unique_ptr<Channel> plain_channel(Channel::Socket socket) {
  return std::make_unique<PlainChannel>(std::move(socket));
}

}  // namespace meniscus::adapters::mllp
