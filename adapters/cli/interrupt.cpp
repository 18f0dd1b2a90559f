// Contract: see interrupt.hpp.
#include "adapters/cli/interrupt.hpp"

#include <csignal>

namespace meniscus::adapters {

namespace {
// All that a signal handler may touch.
volatile std::sig_atomic_t asked_to_end = 0;  // NOLINT(*-avoid-non-const-global-variables)

void handle(int signal) {
  if (asked_to_end != 0) {
    std::signal(signal, SIG_DFL);
    std::raise(signal);
  }
  asked_to_end = 1;
}
}  // namespace

Interrupt::Interrupt() {
  asked_to_end = 0;
  std::signal(SIGINT, handle);
  std::signal(SIGTERM, handle);
}

Interrupt::~Interrupt() {
  std::signal(SIGINT, SIG_DFL);
  std::signal(SIGTERM, SIG_DFL);
}

bool Interrupt::asked() { return asked_to_end != 0; }

}  // namespace meniscus::adapters
