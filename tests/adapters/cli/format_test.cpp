// `meniscus rules format` on real files: what is written, and what is left alone.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "adapters/cli/run.hpp"
#include "tests/adapters/cli/captured_console.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {
namespace fs = std::filesystem;
using ::testing::HasSubstr;

class RulesFormat : public ::testing::Test {
 protected:
  std::string write(const std::string& name, const std::string& text) const {
    return folder_.write(name, text);
  }
  static std::string read(const std::string& path) {
    std::stringstream text;
    text << std::ifstream(path, std::ios::binary).rdbuf();
    return text.str();
  }

  ExitStatus run(std::vector<std::string> arguments) {
    testing::CapturedConsole console;
    arguments.insert(arguments.begin(), {"rules", "format"});
    const ExitStatus status = run_program(arguments, console);
    out_ = console.said;
    err_ = console.complained;
    return status;
  }

  testing::TestFolder folder_;
  std::string out_, err_;
};

TEST_F(RulesFormat, WritesInPlaceWithTheSamePermissionsAndThroughLinks) {
  const std::string path = write("a.rule", "setting  a = 1 mL \"A\"\r\n");
  fs::permissions(path, fs::perms::owner_read | fs::perms::owner_write | fs::perms::group_write);
  const fs::path link = folder_.path() / "link.rule";
  fs::create_symlink(path, link);
  EXPECT_EQ(run({link.string()}), ExitStatus::Clean) << err_;
  EXPECT_EQ(read(path), "setting a = 1 mL  \"A\"\n");
  EXPECT_TRUE(fs::is_symlink(link));
  EXPECT_EQ(fs::status(path).permissions(),
            fs::perms::owner_read | fs::perms::owner_write | fs::perms::group_write);
  EXPECT_EQ(std::distance(fs::directory_iterator(folder_.path()), {}), 2);
  EXPECT_EQ(out_, "formatted " + link.string() + "\n1 file, 1 changed\n");
  EXPECT_EQ(run({path}), ExitStatus::Clean);
  EXPECT_EQ(out_, "1 file, 0 changed\n");
}

TEST_F(RulesFormat, CheckChangesNothing) {
  const std::string text = "setting  a = 1 mL\n";
  const std::string path = write("a.rule", text);
  EXPECT_EQ(run({"--check", folder_.path().string()}), ExitStatus::Found);
  EXPECT_EQ(read(path), text);
  EXPECT_EQ(out_, "would change " + path + "\n1 file, 1 would change\n");
}

TEST_F(RulesFormat, AMistakeInOneFileLeavesItAloneAndTheOthersAreDone) {
  const std::string wrong = write("a.rule", "setting  a = 1mL\n");
  const std::string good = write("b.rule", "setting  b = 1 mL\n");
  EXPECT_EQ(run({folder_.path().string()}), ExitStatus::Usage);
  EXPECT_EQ(read(wrong), "setting  a = 1mL\n");
  EXPECT_EQ(read(good), "setting b = 1 mL\n");
  EXPECT_THAT(err_, HasSubstr("a.rule:1:14: error[R0107]"));
}

TEST_F(RulesFormat, AFileThatIsNotThereIsSaid) {
  EXPECT_EQ(run({folder_ / "none.rule"}), ExitStatus::Usage);
  EXPECT_THAT(err_, HasSubstr("none.rule: there is no such file or folder"));
}

}  // namespace
}  // namespace meniscus::adapters
