// A load for servers that answer MLLP: some connections, each with one message on its way at a
// time.
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

/// Sends `count` messages, taken in turn from `messages` (framed), over `connections`.  What is no
/// frame in answer ends the program: a figure without answers is worth nothing.
LoadResult send_load(const boost::asio::ip::tcp::endpoint& server, std::size_t connections,
                     std::size_t count, const std::vector<std::string>& messages);

}  // namespace meniscus::bench
