// A folder of its own for a test, gone with it.  Tests run side by side, so each has another.
#pragma once

#include <gtest/gtest.h>
#include <stdlib.h>  // NOLINT(*-deprecated-headers): mkdtemp is POSIX

#include <filesystem>
#include <fstream>
#include <string>

namespace meniscus::testing {

class TestFolder {
 public:
  TestFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "meniscus-test-XXXXXX").string();
    EXPECT_NE(mkdtemp(name.data()), nullptr);
    path_ = name;
  }
  ~TestFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  TestFolder(const TestFolder&) = delete;
  TestFolder& operator=(const TestFolder&) = delete;

  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  /// Where `name` stands in it.
  [[nodiscard]] std::string operator/(const std::string& name) const {
    return (path_ / name).string();
  }
  /// Writes a file, and gives its path.
  std::string write(const std::string& name, const std::string& text) const {
    std::string path = *this / name;
    std::ofstream(path, std::ios::binary) << text;
    return path;
  }

 private:
  std::filesystem::path path_;
};

}  // namespace meniscus::testing
