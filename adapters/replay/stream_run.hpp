// A replay of inputs that are in the order in which their records were received: pieces are read
// and partitions judged at the same time, and nothing is written.
#pragma once

#include <condition_variable>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "adapters/replay/partition_judge.hpp"
#include "adapters/replay/replay.hpp"

namespace meniscus::adapters::replay {

/// The moment from which on history is known, when the first record was received then: the start of
/// its day, or what the plan says.
double known_since(const Plan& plan, double first);

class StreamRun {
 public:
  StreamRun(const Plan& plan, const Reading& reading, unsigned threads, Progress& progress);

  /// Errors: Input, Internal.
  engine::Result<ReplayResult> run();
  /// After run(): why the input has to be sorted; empty: it was in order.
  [[nodiscard]] const std::string& why_sort() const { return why_sort_; }

 private:
  struct Partition {
    std::unique_ptr<PartitionJudge> judge;
    std::uint64_t next = 0;  // batch
    bool busy = false;
  };
  struct Waiting {
    Batch batch;
    std::size_t left = 0;  // partitions that have not judged it
  };
  using Lock = std::unique_lock<std::mutex>;

  void work();
  void work_locked(Lock& lock, RecordReader::Scratch& scratch);
  [[nodiscard]] bool is_over() const;
  [[nodiscard]] Partition* ready_partition();
  void judge(Partition& partition, Lock& lock);
  void read(Lock& lock, RecordReader::Scratch& scratch);
  void arrived(Batch batch);
  void begin_judging(double first);
  static void judge_part(PartitionJudge& judge, const std::string& images, bool two_images);

  const Plan& plan_;
  Reading reading_;
  unsigned threads_;
  Progress& progress_;
  RecordReader reader_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<Partition> partitions_;
  std::map<std::uint64_t, Waiting> waiting_;
  std::size_t in_work_ = 0;  // pieces taken and not judged by all
  bool taking_ = false;
  bool at_end_ = false;
  bool since_known_ = false;
  double since_ = 0;
  double first_ = 0;
  std::string why_sort_;
  std::string failure_;
  std::map<std::uint64_t, std::vector<std::string>> unopened_;  // by batch
};

}  // namespace meniscus::adapters::replay
