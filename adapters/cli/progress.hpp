// "12,000 orders" on stderr while a long run goes on; nothing where stderr is no terminal.
#pragma once

#include <chrono>
#include <cstdint>

#include "adapters/cli/console.hpp"

namespace meniscus::adapters {

class Progress {
 public:
  explicit Progress(const Console& console);
  /// Wipes the line.
  ~Progress();
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;

  void add(std::uint64_t orders);

 private:
  using Clock = std::chrono::steady_clock;
  const Console& console_;  // outlives the run
  bool shown_ = false;
  bool wanted_;
  std::uint64_t orders_ = 0;
  Clock::time_point next_;
};

}  // namespace meniscus::adapters
