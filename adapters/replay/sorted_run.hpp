// A replay of inputs that are in no order: every record is written to the file of its partition,
// and each file is then sorted in memory and judged.
//
// Sorted:   by when a record was received; in a tie as the inputs have them.  A record without a
//           date stays behind the patient's record that it stood behind.
// Merged:   records of ids that turn out to be of one patient are judged together, in a partition
// of
//           their own.
// Folder:   work_folder.hpp; a run in a named one goes on where it ended.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <unordered_set>
#include <vector>

#include "adapters/replay/replay.hpp"
#include "adapters/replay/work_folder.hpp"

namespace meniscus::adapters::replay {

class SortedRun {
 public:
  SortedRun(const Plan& plan, const Reading& reading, const ReplayOptions& options,
            Progress& progress);

  /// Errors: Input, when the folder cannot be made or written to; Internal.
  engine::Result<ReplayResult> run();

 private:
  [[nodiscard]] RunIdentity identity() const;
  void read_all();
  void write_parts();
  void write_some(RecordReader& reader);
  void arrived(const Batch& batch);
  void gather_merged();
  void judge_parts(ReplayResult& result);
  void judge_some(std::vector<Tally>& tallies);
  void judge_part(std::size_t number, Tally& tally);
  [[nodiscard]] bool is_mine(const ImageHead& head, std::size_t part) const;
  void fail(std::string sentence);
  [[nodiscard]] bool is_over();
  template <class Work>
  void on_threads(Work work);

  const Plan& plan_;
  Reading reading_;
  const ReplayOptions& options_;
  Progress& progress_;
  std::unique_ptr<WorkFolder> folder_;  // its last part: of merged ids
  std::mutex mutex_;                    // for all below
  std::mutex taking_;
  double first_;
  std::map<engine::Word, engine::Word> merges_;                 // former id, id from then on
  std::unordered_set<engine::Word> merged_;                     // all ids of merges
  std::map<std::uint64_t, std::vector<std::string>> unopened_;  // by batch
  std::string failure_;
  std::size_t next_part_ = 0;
};

}  // namespace meniscus::adapters::replay
