// The records of one partition in a file, for the time of a run.
#pragma once

#include <filesystem>
#include <mutex>
#include <string>
#include <string_view>

#include "engine/base/result.hpp"

namespace meniscus::adapters::replay {

class PartFile {
 public:
  /// Made by the first append(), for the owner alone.
  explicit PartFile(std::filesystem::path path) : path_(std::move(path)) {}
  ~PartFile();
  PartFile(const PartFile&) = delete;
  PartFile& operator=(const PartFile&) = delete;

  /// Several threads.  Errors: Input, with the file and what the system says.
  engine::Status append(std::string_view images);
  /// All of it; empty where there is no file.  Errors: Input.
  engine::Result<std::string> read();
  /// Nothing is in it from now on.
  void remove();
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

 private:
  engine::Status open();

  std::filesystem::path path_;
  std::mutex mutex_;
  int descriptor_ = -1;
};

}  // namespace meniscus::adapters::replay
