// "1,200,000 orders, 310,000 a second, 40 % read, about 2 min left" on stderr while a replay goes
// on, where that is a terminal; and Ctrl-C, which stops it in good order.
#pragma once

#include <condition_variable>
#include <cstdint>
#include <mutex>
#include <string>
#include <thread>

#include "adapters/cli/console.hpp"
#include "adapters/cli/interrupt.hpp"
#include "adapters/replay/replay.hpp"

namespace meniscus::adapters {

/// What is known of a run that goes on; `elapsed` and the result in seconds.
struct ReplayRate {
  std::uint64_t records = 0;
  double elapsed = 0;
  double done = 0;  // share of the work, from 0 to 1; 0: not known
};
/// The line, without its end.
std::string replay_line(const ReplayRate& rate, bool sorting);

class ReplayProgress {
 public:
  /// Shows and watches until it is destroyed.
  ReplayProgress(replay::Progress& progress, const replay::Reading& reading,
                 const Console& console);
  ~ReplayProgress();
  ReplayProgress(const ReplayProgress&) = delete;
  ReplayProgress& operator=(const ReplayProgress&) = delete;

 private:
  void watch();
  void show(double elapsed);

  replay::Progress& progress_;
  const Console& console_;
  std::uint64_t total_bytes_ = 0;  // of the inputs; 0: not known
  bool shown_ = false;
  Interrupt interrupt_;
  std::mutex mutex_;
  std::condition_variable ended_;
  bool end_ = false;
  std::thread thread_;
};

}  // namespace meniscus::adapters
