// `meniscus replay`: last year's orders against one set of rules or two, in one pass.
//
//   Replay replay(plan, reading, options);
//   Result<Outcome> outcome = replay.run();     // on several threads
//
// Same:      the counts and examples do not depend on the number of threads, nor on where the
//            inputs are cut into files.
// Order:     every order is judged on what had been received before it.  Where an input is in that
//            order it streams; where it is not, or where ids turn out to be of one patient, all is
//            written to a folder by patient, sorted there, and judged from it.
// Memory:    grows with patients and what the rules look back on, not with orders.
// Private:   the folder holds patients' orders; it is the owner's alone and is emptied again.
#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "adapters/replay/plan.hpp"
#include "adapters/replay/record_reader.hpp"
#include "adapters/replay/tally.hpp"
#include "engine/base/result.hpp"

namespace meniscus::adapters::replay {

/// How far a run is.  Read by another thread than those that write it.
struct Progress {
  std::atomic<std::uint64_t> read{0};        // records
  std::atomic<std::uint64_t> bytes{0};       // of the inputs, where they are not compressed
  std::atomic<std::uint64_t> sorted{0};      // records written to be sorted; 0: the input streams
  std::atomic<std::uint64_t> judged{0};      // partitions judged after sorting
  std::atomic<std::uint64_t> partitions{0};  // that are to be judged then
  std::atomic<bool> stop{false};             // set by who wants it to stop
};

struct ReplayOptions {
  unsigned threads = 1;
  std::string folder;          // where to sort, and to go on later; empty: a temporary one
  bool sort = false;           // without trying to stream first
  std::size_t partitions = 0;  // to sort into; 0: by the size of the inputs
  std::function<void(const std::string&)> say;  // a sentence for the person who waits
};

struct ReplayResult {
  Tally tally;
  double since = 0;  // local seconds: history is known from then on
  bool sorted = false;
  bool stopped = false;  // before the end: `tally` is worth nothing
  std::vector<std::string> unopened;
};

class Replay {
 public:
  Replay(const Plan& plan, Reading reading, ReplayOptions options);
  [[nodiscard]] Progress& progress() { return progress_; }
  /// Errors: Input, when the folder cannot be used; Internal.
  engine::Result<ReplayResult> run();

 private:
  const Plan& plan_;
  Reading reading_;
  ReplayOptions options_;
  Progress progress_;
};

}  // namespace meniscus::adapters::replay
