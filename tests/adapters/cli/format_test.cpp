// `meniscus rules format` on real files: what is written, and what is left alone.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "adapters/cli/run.hpp"

namespace meniscus::adapters {
namespace {
namespace fs = std::filesystem;
using ::testing::HasSubstr;

class RulesFormat : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string name = (fs::temp_directory_path() / "meniscus-format-XXXXXX").string();
    ASSERT_NE(mkdtemp(name.data()), nullptr);
    folder_ = name;
  }
  void TearDown() override { fs::remove_all(folder_); }

  std::string write(const std::string& name, const std::string& text) {
    const std::string path = (folder_ / name).string();
    std::ofstream(path, std::ios::binary) << text;
    return path;
  }
  static std::string read(const std::string& path) {
    std::stringstream text;
    text << std::ifstream(path, std::ios::binary).rdbuf();
    return text.str();
  }

  ExitStatus run(std::vector<std::string> arguments) {
    out_.clear();
    err_.clear();
    Console console;
    console.out = [this](std::string_view text) { return keep(out_, text); };
    console.err = [this](std::string_view text) { return keep(err_, text); };
    arguments.insert(arguments.begin(), {"rules", "format"});
    return run_program(arguments, console);
  }
  static engine::Status keep(std::string& into, std::string_view text) {
    into += text;
    return engine::Done{};
  }

  fs::path folder_;
  std::string out_, err_;
};

TEST_F(RulesFormat, WritesInPlaceWithTheSamePermissionsAndThroughLinks) {
  const std::string path = write("a.rule", "setting  a = 1 mL \"A\"\r\n");
  fs::permissions(path, fs::perms::owner_read | fs::perms::owner_write | fs::perms::group_write);
  const fs::path link = folder_ / "link.rule";
  fs::create_symlink(path, link);
  EXPECT_EQ(run({link.string()}), ExitStatus::Clean) << err_;
  EXPECT_EQ(read(path), "setting a = 1 mL  \"A\"\n");
  EXPECT_TRUE(fs::is_symlink(link));
  EXPECT_EQ(fs::status(path).permissions(),
            fs::perms::owner_read | fs::perms::owner_write | fs::perms::group_write);
  EXPECT_EQ(std::distance(fs::directory_iterator(folder_), {}), 2);
  EXPECT_EQ(out_, "formatted " + link.string() + "\n1 file, 1 changed\n");
  EXPECT_EQ(run({path}), ExitStatus::Clean);
  EXPECT_EQ(out_, "1 file, 0 changed\n");
}

TEST_F(RulesFormat, CheckChangesNothing) {
  const std::string text = "setting  a = 1 mL\n";
  const std::string path = write("a.rule", text);
  EXPECT_EQ(run({"--check", folder_.string()}), ExitStatus::Found);
  EXPECT_EQ(read(path), text);
  EXPECT_EQ(out_, "would change " + path + "\n1 file, 1 would change\n");
}

TEST_F(RulesFormat, AMistakeInOneFileLeavesItAloneAndTheOthersAreDone) {
  const std::string wrong = write("a.rule", "setting  a = 1mL\n");
  const std::string good = write("b.rule", "setting  b = 1 mL\n");
  EXPECT_EQ(run({folder_.string()}), ExitStatus::Usage);
  EXPECT_EQ(read(wrong), "setting  a = 1mL\n");
  EXPECT_EQ(read(good), "setting b = 1 mL\n");
  EXPECT_THAT(err_, HasSubstr("a.rule:1:14: error[R0107]"));
}

TEST_F(RulesFormat, AFileThatIsNotThereIsSaid) {
  EXPECT_EQ(run({(folder_ / "none.rule").string()}), ExitStatus::Usage);
  EXPECT_THAT(err_, HasSubstr("none.rule: there is no such file or folder"));
}

}  // namespace
}  // namespace meniscus::adapters
