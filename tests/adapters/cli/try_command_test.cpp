// `rules try --watch`: again each time that the file is saved, also with a mistake in it.
#include "adapters/cli/try_command.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>
#include <filesystem>
#include <string>

#include "tests/adapters/cli/captured_console.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;
using ::testing::Not;

std::string small_volume(const std::string& limit) {
  return "rule small-volume \"A small volume\"\n    concerns all orders\n"
         "    raise clarify when volume < " +
         limit + "\n        say \"{volume} is small.\"\n        blames volume\n";
}

class RulesTry : public ::testing::Test {
 public:
  RulesTry() {
    arguments.files = {folder / "small.rule"};
    arguments.orders = {folder.write(
        "orders.ndjson",
        "{\"order\":{\"id\":\"A-1\"},\"patient\":{\"id\":\"SM-0012\"},\"volume\":\"0.2 mL\"}\n"
        "{\"order\":{\"id\":\"A-2\"},\"patient\":{\"id\":\"SM-0013\"},\"volume\":\"0.4 mL\"}\n")};
    console.today = 20514;
    console.rules_path = std::string(MENISCUS_SOURCE_DIR) + "/tests/golden/rules";
  }

  /// Saves, as an editor would some time later than the last time.
  void save(const std::string& text) {
    fs::last_write_time(folder.write("small.rule", text),
                        fs::file_time_type::clock::now() + std::chrono::seconds(++saves));
  }

  testing::TestFolder folder;
  testing::CapturedConsole console;
  Arguments arguments;
  int saves = 0;
};

TEST_F(RulesTry, SaysWhatTheFileWouldChange) {
  folder.write("small.rule", small_volume("0.3 mL"));
  EXPECT_EQ(run_rules_try(arguments, console), ExitStatus::Clean);
  EXPECT_THAT(console.said,
              HasSubstr("Would have spoken on 1 of 2 orders, 1 of them newly stopped."));
  EXPECT_THAT(console.said, HasSubstr("A-1"));
  EXPECT_THAT(console.said, Not(HasSubstr("A-2")));
  EXPECT_THAT(console.said, Not(HasSubstr("SM-0012")));  // a patient is never named
}

TEST_F(RulesTry, WatchesTheFile) {
  folder.write("small.rule", small_volume("0.3 mL"));
  arguments.watch = true;
  int looks = 0;
  console.pause = [&] {
    switch (looks++) {
      case 0:
        return true;  // nothing was saved
      case 1:
        save(small_volume("0.3 mg"));
        return true;
      case 2:
        EXPECT_THAT(console.complained, HasSubstr("small.rule"));  // the mistake, and on it goes
        save(small_volume("0.5 mL"));
        return true;
      default:
        return false;
    }
  };
  EXPECT_EQ(run_rules_try(arguments, console), ExitStatus::Clean);
  EXPECT_THAT(console.said, HasSubstr("on 1 of 2 orders"));
  EXPECT_THAT(console.said, HasSubstr("on 2 of 2 orders"));
}

}  // namespace
}  // namespace meniscus::adapters
