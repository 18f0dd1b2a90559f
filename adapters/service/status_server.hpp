// A page each for those who watch the service: GET /live, /ready, /metrics, over HTTP.
//
// Says:     nothing of orders or patients; metrics.hpp has what is counted.
// Bounded:  kMostPeers at a time, each with ten seconds and a small head; one request after the
//           other.
// Threads:  on the thread that runs the io_context, beside the messages; a page takes microseconds.
#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <cstddef>
#include <functional>
#include <memory>
#include <string>

#include "engine/base/result.hpp"

namespace meniscus::adapters {

struct StatusPages {
  std::function<std::string()> why_not_ready;  // empty: ready
  std::function<std::string()> metrics;
};

class StatusServer {
 public:
  static constexpr std::size_t kMostPeers = 16;

  /// `context` outlives the server; the server outlives all handlers of `context`.
  StatusServer(boost::asio::io_context& context, StatusPages pages);
  ~StatusServer();
  StatusServer(const StatusServer&) = delete;
  StatusServer& operator=(const StatusServer&) = delete;

  /// Errors: Input, one sentence.
  engine::Result<boost::asio::ip::tcp::endpoint> listen(
      const boost::asio::ip::tcp::endpoint& endpoint);
  /// Takes nothing more; those who are served are served to the end.
  void stop();

 private:
  class Work;
  std::unique_ptr<Work> work_;
};

}  // namespace meniscus::adapters
