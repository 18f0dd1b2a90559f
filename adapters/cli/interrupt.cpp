// Contract: see interrupt.hpp.
#include "adapters/cli/interrupt.hpp"

#include <atomic>
#include <csignal>

namespace meniscus::adapters {

namespace {
// A signal comes in any thread, and workers ask too: a lock-free atomic is all that both may touch.
std::atomic<bool> asked_to_end = false;  // NOLINT(*-avoid-non-const-global-variables)
static_assert(std::atomic<bool>::is_always_lock_free);

void handle(int signal) {
  if (asked_to_end.exchange(true)) {
    std::signal(signal, SIG_DFL);
    std::raise(signal);
  }
}
}  // namespace

Interrupt::Interrupt() {
  asked_to_end = false;
  std::signal(SIGINT, handle);
  std::signal(SIGTERM, handle);
}

Interrupt::~Interrupt() {
  std::signal(SIGINT, SIG_DFL);
  std::signal(SIGTERM, SIG_DFL);
}

bool Interrupt::asked() { return asked_to_end; }

}  // namespace meniscus::adapters
