// All ranks of a run that mpirun started; the one file that knows MPI.
//
// Threads: only the thread that made the World calls it; others may run beside it.
// Order:   every rank makes the same calls in the same order, whatever happens to it between them.
// Errors:  what MPI itself reports ends all ranks at once, as is its default.
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <string>
#include <string_view>
#include <vector>

namespace meniscus::adapters {

class World {
 public:
  World();
  ~World();
  World(const World&) = delete;
  World& operator=(const World&) = delete;

  /// Bytes that one message of MPI holds: its counts are ints.
  static constexpr std::size_t kMost = std::numeric_limits<int>::max();

  [[nodiscard]] int rank() const { return rank_; }
  [[nodiscard]] int size() const { return size_; }
  [[nodiscard]] bool is_first() const { return rank_ == 0; }
  /// Threads for this rank, so that all ranks of its machine keep each of its processors busy once.
  [[nodiscard]] unsigned threads() const;

  /// The first rank's number, for all.
  [[nodiscard]] std::int64_t agreed(std::int64_t number) const;
  /// At the first rank, everyone's text by rank; elsewhere nothing.  A text may be longer than
  /// `most`: it then comes in pieces.
  [[nodiscard]] std::vector<std::string> gathered(std::string_view mine,
                                                  std::size_t most = kMost) const;
  /// Ends all ranks at once, without waiting for any.
  static void end_all(int status);

 private:
  /// Until every rank has come here; leaves the processor to those that still work.
  static void wait_for_all();

  int rank_ = 0;
  int size_ = 1;
  int beside_ = 1;  // ranks on this machine
};

}  // namespace meniscus::adapters
