// `rules try --watch`: again each time that the file is saved, also with a mistake in it.
#include "adapters/cli/try_command.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <string>

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
    fs::create_directories(folder);
    write("orders.ndjson",
          "{\"order\":{\"id\":\"A-1\"},\"patient\":{\"id\":\"SM-0012\"},\"volume\":\"0.2 mL\"}\n"
          "{\"order\":{\"id\":\"A-2\"},\"patient\":{\"id\":\"SM-0013\"},\"volume\":\"0.4 mL\"}\n");
    console.out = [this](std::string_view bytes) -> engine::Status {
      said += bytes;
      return engine::Done{};
    };
    console.err = [this](std::string_view bytes) -> engine::Status {
      complained += bytes;
      return engine::Done{};
    };
    console.today = 20514;
    console.rules_path = std::string(MENISCUS_SOURCE_DIR) + "/tests/golden/rules";
    arguments.files = {(folder / "small.rule").string()};
    arguments.orders = {(folder / "orders.ndjson").string()};
  }
  ~RulesTry() override { fs::remove_all(folder); }

  void write(const std::string& name, const std::string& text) const {
    std::ofstream(folder / name, std::ios::binary) << text;
  }
  /// Saves, as an editor would some time later than the last time.
  void save(const std::string& text) {
    write("small.rule", text);
    fs::last_write_time(folder / "small.rule",
                        fs::file_time_type::clock::now() + std::chrono::seconds(++saves));
  }

  // Its own for each test: they run side by side.
  fs::path folder =
      fs::temp_directory_path() / (std::string("meniscus-rules-try-") +
                                   ::testing::UnitTest::GetInstance()->current_test_info()->name());
  Console console;
  Arguments arguments;
  std::string said;
  std::string complained;
  int saves = 0;
};

TEST_F(RulesTry, SaysWhatTheFileWouldChange) {
  write("small.rule", small_volume("0.3 mL"));
  EXPECT_EQ(run_rules_try(arguments, console), ExitStatus::Clean);
  EXPECT_THAT(said, HasSubstr("Would have spoken on 1 of 2 orders, 1 of them newly stopped."));
  EXPECT_THAT(said, HasSubstr("A-1"));
  EXPECT_THAT(said, Not(HasSubstr("A-2")));
  EXPECT_THAT(said, Not(HasSubstr("SM-0012")));  // a patient is never named
}

TEST_F(RulesTry, WatchesTheFile) {
  write("small.rule", small_volume("0.3 mL"));
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
        EXPECT_THAT(complained, HasSubstr("small.rule"));  // the mistake, and on it goes
        save(small_volume("0.5 mL"));
        return true;
      default:
        return false;
    }
  };
  EXPECT_EQ(run_rules_try(arguments, console), ExitStatus::Clean);
  EXPECT_THAT(said, HasSubstr("on 1 of 2 orders"));
  EXPECT_THAT(said, HasSubstr("on 2 of 2 orders"));
}

}  // namespace
}  // namespace meniscus::adapters
