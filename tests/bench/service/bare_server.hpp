// The least that a server for MLLP does: looks for the end of a frame and answers with the same
// bytes each time.  What is above it is what judging costs.
#pragma once

#include <boost/asio/ip/tcp.hpp>
#include <memory>

namespace meniscus::bench {

class BareServer {
 public:
  BareServer();
  ~BareServer();
  BareServer(const BareServer&) = delete;
  BareServer& operator=(const BareServer&) = delete;

  [[nodiscard]] boost::asio::ip::tcp::endpoint endpoint() const;

 private:
  class Work;
  std::unique_ptr<Work> work_;
};

}  // namespace meniscus::bench
