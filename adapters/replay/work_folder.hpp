// The folder of a sorted replay: temporary, or one that was named and from which the same run goes
// on where it ended.
//
// Holds:     part-0000 and so on (part_file.hpp); of a named one also run.json (which run it is and
//            on which day it began), written.json (all records are in their parts) and
//            tally-0000.json and so on (parts that are judged).
// Private:   for the owner alone, as it holds patients' orders.  When the run is done, it is
// emptied
//            and, if it was made here, removed; a named one that ended early stays.
// Errors:    Usage, when a named folder holds something else; Input, when it cannot be used.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "adapters/replay/part_file.hpp"
#include "adapters/replay/tally.hpp"
#include "engine/base/result.hpp"

namespace meniscus::adapters::replay {

/// What makes a run the same run.
struct RunIdentity {
  std::string text;        // inputs, rules, settings
  std::int64_t today = 0;  // the day on which it began
  std::size_t partitions = 0;
};

/// What is known when all records are in their parts.
struct Written {
  double first = 0;  // when the first was received; infinite: none has a date
  std::vector<std::uint64_t> merged;
  std::vector<std::string> unopened;
};

class WorkFolder {
 public:
  /// `named` empty: a temporary one.
  static engine::Result<std::unique_ptr<WorkFolder>> open(const std::string& named,
                                                          const RunIdentity& identity);
  /// The day on which the run in a folder began; none where it holds no run.
  static std::optional<std::int64_t> day_of(const std::string& named);

  ~WorkFolder();
  WorkFolder(const WorkFolder&) = delete;
  WorkFolder& operator=(const WorkFolder&) = delete;

  [[nodiscard]] std::size_t parts() const { return parts_.size(); }
  [[nodiscard]] PartFile& part(std::size_t number) { return *parts_[number]; }

  /// Of an earlier run, when its parts are whole.
  [[nodiscard]] std::optional<Written> written() const;
  engine::Status keep(const Written& written);
  [[nodiscard]] std::optional<Tally> tally(std::size_t number) const;
  engine::Status keep(std::size_t number, const Tally& tally);
  /// The run is done: nothing is kept.
  void done() { done_ = true; }

 private:
  WorkFolder(std::filesystem::path path, bool temporary, bool made, std::size_t partitions);
  [[nodiscard]] std::string file(const char* pattern, std::size_t number) const;
  void empty();

  std::filesystem::path path_;
  bool temporary_;
  bool made_;
  bool done_ = false;
  std::vector<std::unique_ptr<PartFile>> parts_;
};

/// That write_private_file() will be able to.  Errors: Input.
engine::Status can_write(const std::string& path);
/// Writes a file whole or not at all, for the owner alone.  Errors: Input.
engine::Status write_private_file(const std::string& path, std::string_view text);

}  // namespace meniscus::adapters::replay
