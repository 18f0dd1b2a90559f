// The console's clock, for a service that runs from one day into the next.
#pragma once

#include <chrono>

#include "adapters/cli/console.hpp"
#include "engine/ports/clock.hpp"

namespace meniscus::adapters {

class HostClock final : public engine::Clock {
 public:
  /// `console` outlives the clock.
  explicit HostClock(const Console& console) : console_(console) {}

  [[nodiscard]] std::int64_t today() const override { return console_.local_day(); }
  [[nodiscard]] std::string message_time() const override { return console_.message_time(); }
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
};

}  // namespace meniscus::adapters
