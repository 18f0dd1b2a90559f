// What a server allows its peers, and what it tells of them: numbers and reasons, never a byte of
// what they sent.
#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <string_view>

namespace meniscus::adapters::mllp {

struct Limits {
  std::size_t connections = 256;  // when there are as many, new ones wait to be accepted
  std::size_t in_work = 64;       // messages; when there are as many, nothing more is read
  std::size_t largest = std::size_t{1} << 20U;  // bytes of a message; an order has a few thousand
  std::chrono::milliseconds idle = std::chrono::hours(1);         // between messages
  std::chrono::milliseconds message = std::chrono::seconds(30);   // from a message's first byte on
  std::chrono::milliseconds answer = std::chrono::seconds(30);    // until the peer has taken it
  std::chrono::milliseconds last_byte = std::chrono::seconds(1);  // for the CR after an FS
};

enum class Closed : std::uint8_t {
  ByPeer,
  Idle,      // no message for Limits::idle
  Slow,      // a message begun and not ended in Limits::message
  NotTaken,  // an answer that the peer does not take
  Failed,    // the network, or TLS
  Stopping   // the service stops
};

class Events {
 public:
  Events() = default;
  Events(const Events&) = delete;
  Events& operator=(const Events&) = delete;
  virtual ~Events() = default;

  /// `id` counts connections from 1; `peer` is an address without its port.
  virtual void opened(std::uint64_t id, std::string_view peer) = 0;
  /// `why`: what the system says of a failure; empty otherwise.
  virtual void closed(std::uint64_t id, Closed reason, std::string_view why) = 0;
  /// Bytes outside of frames, the first time on a connection.
  virtual void skipped(std::uint64_t id) = 0;
  /// A peer leaves out the CR after a frame, the first time on a connection.
  virtual void bare_end(std::uint64_t id) = 0;
  /// No more connections, or messages in work, are taken until some are done.
  virtual void connections_full() = 0;
  virtual void work_full() = 0;
  /// A connection could not be accepted.
  virtual void not_accepted(std::string_view why) = 0;
};

}  // namespace meniscus::adapters::mllp
