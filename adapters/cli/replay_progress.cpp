// Contract: see replay_progress.hpp.
#include "adapters/cli/replay_progress.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <system_error>

#include "adapters/report/output.hpp"

namespace meniscus::adapters {

namespace {
using Clock = std::chrono::steady_clock;
constexpr std::chrono::milliseconds kPause{200};
constexpr double kQuiet = 1.0;  // seconds before anything is shown

/// The bytes of all inputs; 0 where one has no size, or holds less than it unpacks to.
std::uint64_t bytes_of(const replay::Reading& reading) {
  std::uint64_t bytes = 0;
  for (const auto* names : {&reading.warm_up, &reading.inputs}) {
    for (const std::string& name : *names) {
      std::error_code problem;
      const bool plain = std::filesystem::is_regular_file(name, problem) &&
                         !name.ends_with(".gz") && !name.ends_with(".zst");
      if (!plain) return 0;
      bytes += std::filesystem::file_size(name, problem);
    }
  }
  return bytes;
}

std::string time_left(double seconds) {
  if (seconds < 60) return std::to_string(static_cast<int>(std::ceil(seconds))) + " s";
  return std::to_string(static_cast<int>(std::ceil(seconds / 60))) + " min";
}
}  // namespace

std::string replay_line(const ReplayRate& rate, bool sorting) {
  std::string line = grouped(rate.records) + (sorting ? " orders sorted" : " orders");
  if (rate.elapsed <= 0) return line;
  const double each = static_cast<double>(rate.records) / rate.elapsed;
  line += ", " + grouped(static_cast<std::uint64_t>(each)) + " a second";
  if (rate.done <= 0.01 || rate.done > 1) return line;
  line += ", " + std::to_string(static_cast<int>(rate.done * 100)) + " %, about " +
          time_left(rate.elapsed * (1 - rate.done) / rate.done) + " left";
  return line;
}

ReplayProgress::ReplayProgress(replay::Progress& progress, const replay::Reading& reading,
                               const Console& console)
    : progress_(progress),
      console_(console),
      total_bytes_(bytes_of(reading)),
      thread_([this] { watch(); }) {}

ReplayProgress::~ReplayProgress() {
  {
    const std::lock_guard lock(mutex_);
    end_ = true;
  }
  ended_.notify_all();
  thread_.join();
  if (shown_) console_.say_err("\r\x1b[K");
}

void ReplayProgress::watch() {
  const Clock::time_point start = Clock::now();
  std::unique_lock lock(mutex_);
  while (!ended_.wait_for(lock, kPause, [this] { return end_; })) {
    if (Interrupt::asked()) progress_.stop = true;
    const double elapsed = std::chrono::duration<double>(Clock::now() - start).count();
    if (console_.err_is_terminal && elapsed > kQuiet) show(elapsed);
  }
}

void ReplayProgress::show(double elapsed) {
  ReplayRate rate{progress_.read, elapsed, 0};
  const bool sorting = progress_.sorted > 0;
  if (total_bytes_ > 0)
    rate.done = static_cast<double>(progress_.bytes) / static_cast<double>(total_bytes_);
  if (sorting) {
    // Half of the work is to read and write, half to judge.
    const std::uint64_t parts = progress_.partitions;
    const double judged =
        parts == 0 ? 0 : static_cast<double>(progress_.judged) / static_cast<double>(parts);
    rate.done = total_bytes_ == 0 && parts == 0 ? 0 : (rate.done + judged) / 2;
  }
  shown_ = true;
  console_.say_err("\r" + replay_line(rate, sorting) + "\x1b[K");
}

}  // namespace meniscus::adapters
