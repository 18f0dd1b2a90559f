// The time, as the host knows it.  The engine itself reads no clock: a service asks this one and
// hands on what day it is, so that tests can choose the day.
#pragma once

#include <cstdint>
#include <string>

namespace meniscus::engine {

class Clock {
 public:
  Clock() = default;
  Clock(const Clock&) = delete;
  Clock& operator=(const Clock&) = delete;
  virtual ~Clock() = default;

  /// Days since 1970-01-01, in the host's time zone.
  [[nodiscard]] virtual std::int64_t today() const = 0;
  /// Now with its offset, as HL7 v2 writes it: 20260302091400+0100.
  [[nodiscard]] virtual std::string message_time() const = 0;
  /// Seconds since some moment in the past; never goes back.
  [[nodiscard]] virtual double seconds() const = 0;
  /// Seconds since 1970-01-01 UTC, as the host's clock shows them; may go back.
  [[nodiscard]] virtual double since_epoch() const = 0;
};

}  // namespace meniscus::engine
