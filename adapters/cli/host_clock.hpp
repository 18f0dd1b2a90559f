// The console's clock, for a service that runs from one day into the next.
#pragma once

#include <chrono>
#include <cstdint>
#include <string>

#include "adapters/cli/console.hpp"
#include "engine/ports/clock.hpp"

namespace meniscus::adapters {

class HostClock final : public engine::Clock {
 public:
  /// `console` outlives the clock.
  explicit HostClock(const Console& console) : console_(console) {}

  [[nodiscard]] std::int64_t today() const override { return console_.local_day(); }
  /// Asked for each answer, and told anew each second.
  [[nodiscard]] std::string message_time() const override {
    const auto second = static_cast<std::int64_t>(since_epoch());
    if (message_time_.empty() || second != second_) message_time_ = console_.message_time();
    second_ = second;
    return message_time_;
  }
  [[nodiscard]] double seconds() const override {
    const auto since = std::chrono::steady_clock::now().time_since_epoch();
    return std::chrono::duration<double>(since).count();
  }
  [[nodiscard]] double since_epoch() const override {
    const auto since = std::chrono::system_clock::now().time_since_epoch();
    return std::chrono::duration<double>(since).count();
  }

 private:
  const Console& console_;
  mutable std::int64_t second_ = 0;
  mutable std::string message_time_;  // of second_
};

}  // namespace meniscus::adapters
