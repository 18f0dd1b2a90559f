// Contract: see progress.hpp.
#include "adapters/cli/progress.hpp"

#include <string>

#include "adapters/report/output.hpp"

namespace meniscus::adapters {

namespace {
constexpr std::chrono::milliseconds kPause{200};
}  // namespace

// Verdicts on the same terminal are progress enough.
Progress::Progress(const Console& console)
    : console_(console),
      wanted_(console.err_is_terminal && !console.out_is_terminal),
      next_(Clock::now() + 2 * kPause) {}

Progress::~Progress() {
  if (shown_) console_.say_err("\r\x1b[K");
}

void Progress::add(std::uint64_t orders) {
  orders_ += orders;
  if (!wanted_) return;
  const Clock::time_point now = Clock::now();
  if (now < next_) return;
  next_ = now + kPause;
  shown_ = true;
  console_.say_err("\r" + grouped(orders_) + " orders\x1b[K");
}

}  // namespace meniscus::adapters
