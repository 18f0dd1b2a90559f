// Ctrl-C and a polite kill ask a long command to end in good order; the second one ends it at once.
#pragma once

namespace meniscus::adapters {

/// While it lives, SIGINT and SIGTERM set a flag.  One at a time in a process.
class Interrupt {
 public:
  Interrupt();
  ~Interrupt();
  Interrupt(const Interrupt&) = delete;
  Interrupt& operator=(const Interrupt&) = delete;

  [[nodiscard]] static bool asked();
};

}  // namespace meniscus::adapters
