// A replay of inputs that are in no order: every record is written to the file of its partition,
// and each file is then sorted in memory and judged.
//
// Sorted:   by when a record was received; in a tie as the inputs have them.  A record without a
//           date stays behind the patient's record that it stood behind.
// Merged:   records of ids that turn out to be of one patient are judged together, in a partition
// of
//           their own.
// Folder:   part-0000 and so on, for the owner alone.  One that was named keeps what was done, and
//           the same run goes on from there; a temporary one is removed whatever happens.
#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <unordered_set>
#include <vector>

#include "adapters/replay/part_file.hpp"
#include "adapters/replay/replay.hpp"

namespace meniscus::adapters::replay {

class SortedRun {
 public:
  SortedRun(const Plan& plan, const Reading& reading, const ReplayOptions& options,
            Progress& progress);
  ~SortedRun();
  SortedRun(const SortedRun&) = delete;
  SortedRun& operator=(const SortedRun&) = delete;

  /// Errors: Input, when the folder cannot be made or written to; Internal.
  engine::Result<ReplayResult> run();

 private:
  engine::Status make_folder();
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
  std::filesystem::path folder_;
  bool temporary_ = false;
  std::vector<std::unique_ptr<PartFile>> parts_;  // the last: of merged ids
  std::mutex mutex_;                              // for all below
  std::mutex taking_;
  double first_;
  std::map<engine::Word, engine::Word> merges_;                 // former id, id from then on
  std::unordered_set<engine::Word> merged_;                     // all ids of merges
  std::map<std::uint64_t, std::vector<std::string>> unopened_;  // by batch
  std::string failure_;
  std::size_t next_part_ = 0;
};

}  // namespace meniscus::adapters::replay
