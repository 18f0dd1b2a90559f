// A load for servers that answer MLLP: some connections, each with one message on its way at a
// time, or with some that are sent in one piece.
//
// Measures: from the first byte sent to the last byte of the answer, each message; on a thread of
//           its own, over this machine's loopback.
// Source:   a closed loop, as HL7 senders are: the next message goes when the answer is there.  So
//           a server that stalls is asked less, and its slowest answers weigh less than they
//           would under a load that does not wait.
#pragma once

#include <boost/asio/ip/tcp.hpp>
#include <cstddef>
#include <string>
#include <vector>

namespace meniscus::bench {

struct LoadResult {
  double per_second = 0;
  std::vector<double> microseconds;  // sorted

  /// `share` of all answers came within so many microseconds.
  [[nodiscard]] double within(double share) const;
};

/// How a load is sent.
struct LoadShape {
  std::size_t connections = 1;
  std::size_t count = 0;     // messages over all connections
  std::size_t together = 1;  // messages that a connection sends before it waits for their answers
};

/// Sends messages, taken in turn from `messages` (framed).  What is no frame in answer ends the
/// program: a figure without answers is worth nothing.
LoadResult send_load(const boost::asio::ip::tcp::endpoint& server, const LoadShape& shape,
                     const std::vector<std::string>& messages);

}  // namespace meniscus::bench
