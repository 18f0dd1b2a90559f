// Bytes both ways with one peer: a TCP socket, plain or inside TLS.
#pragma once

#include <boost/asio/ip/tcp.hpp>
#include <cstddef>
#include <functional>
#include <memory>
#include <span>
#include <string_view>

namespace meniscus::adapters::mllp {

class Channel {
 public:
  using Error = boost::system::error_code;
  using Socket = boost::asio::ip::tcp::socket;
  using Started = std::function<void(const Error&)>;
  using Done = std::function<void(const Error&, std::size_t)>;

  Channel() = default;
  Channel(const Channel&) = delete;
  Channel& operator=(const Channel&) = delete;
  virtual ~Channel() = default;

  /// Whatever must be agreed before the first byte.
  virtual void start(Started started) = 0;
  /// What is there, at least one byte.
  virtual void read(std::span<char> into, Done done) = 0;
  /// All of `bytes`, which live until `done`; that may come before write() returns.
  virtual void write(std::string_view bytes, Done done) = 0;
  virtual Socket& socket() = 0;
};

std::unique_ptr<Channel> plain_channel(Channel::Socket socket);

}  // namespace meniscus::adapters::mllp
