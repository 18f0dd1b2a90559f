// A replay that ends early goes on from its folder, and gives what one run gives.
#include "adapters/replay/work_folder.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <limits>
#include <sstream>
#include <string>

#include "adapters/replay/replay.hpp"
#include "adapters/replay/summary.hpp"
#include "adapters/rules/rule_files.hpp"
#include "adapters/text/re2_pattern.hpp"
#include "tests/support/test_folder.hpp"

namespace {
/// How many files can still be removed; negative: all.
int removals_left = -1;  // NOLINT(*-avoid-non-const-global-variables): seen by remove()
}  // namespace

// In place of the C library's: std::filesystem::remove() calls it.  Refusing every removal behind
// the first few leaves a folder as it is when the program is killed between two of them.
extern "C" int remove(const char* path) noexcept {
  if (removals_left == 0) {
    errno = EIO;
    return -1;
  }
  if (removals_left > 0) --removals_left;
  if (::unlink(path) == 0) return 0;
  return errno == EISDIR ? ::rmdir(path) : -1;
}

namespace meniscus::adapters::replay {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;

class ReplayWork : public ::testing::Test {
 public:
  ReplayWork() {
    folder.write("a.rule",
                 "rule large \"A large dose\"\n    concerns all orders\n"
                 "    raise hold when dose > 100 mg say \"{dose} is large.\" blames dose\n"
                 "    cite \"common practice\"\n");
    std::string text;
    for (int i = 0; i < 400; ++i)
      text += R"({"order":{"id":"A-)" + std::to_string(i) +
              R"(","placed":"2025-03-02"},"patient":{"id":"SM-)" + std::to_string(i % 40) +
              R"("},"dose":")" + std::to_string(i) + " mg\"}\n";
    orders = folder.write("a.ndjson", text);
    plan.sides.push_back(
        {load_rules({folder / "a.rule"}, re2_patterns(), LoadOptions{}).program, {}});
    finish_plan(plan);
    plan.files = {orders};
    plan.today = 20514;
  }

  engine::Result<ReplayResult> run(bool stop = false) {
    Reading reading;
    reading.inputs = {orders};
    reading.feed = &feed;
    ReplayOptions options;
    options.folder = folder / "work";
    options.sort = true;
    options.partitions = 4;
    Replay replay(plan, reading, options);
    replay.progress().stop = stop;
    return replay.run();
  }

  std::string text_of(const std::string& name) const {
    std::ostringstream text;
    text << std::ifstream(folder / name).rdbuf();
    return text.str();
  }

  testing::TestFolder folder;
  std::string orders;
  engine::Feed feed;
  Plan plan;
};

TEST_F(ReplayWork, IsTheOwnersAloneAndEmptiedWhenTheRunIsDone) {
  ASSERT_TRUE(run(true)->stopped);
  EXPECT_EQ(fs::status(folder / "work").permissions(), fs::perms(0700));
  EXPECT_EQ(fs::status(folder / "work/run.json").permissions(), fs::perms(0600));
  EXPECT_EQ(WorkFolder::day_of(folder / "work"), 20514);
  const auto done = run();
  ASSERT_TRUE(done);
  EXPECT_EQ(done->tally.input.judged, 400U);
  EXPECT_TRUE(fs::is_empty(folder / "work")) << "it was there before this run";
}

TEST_F(ReplayWork, GoesOnWithThePartsThatAreJudged) {
  ASSERT_TRUE(run(true)->stopped) << "before anything was read";
  fs::create_directory(folder / "work/tally-0002.json");
  const auto failed = run();
  ASSERT_FALSE(failed) << "a part cannot be kept";
  EXPECT_THAT(failed.error().message, HasSubstr("tally-0002.json"));
  EXPECT_TRUE(fs::exists(folder / "work/written.json"));
  EXPECT_TRUE(fs::exists(folder / "work/tally-0001.json"));
  EXPECT_FALSE(fs::exists(folder / "work/part-0001")) << "it is judged";
  EXPECT_TRUE(fs::exists(folder / "work/part-0003"));
  fs::remove(folder / "work/tally-0002.json");
  // What is kept of a part is what is used: a number that only this file has turns up.
  auto kept = read_tally(text_of("work/tally-0001.json"));
  ASSERT_TRUE(kept);
  kept->input.unreadable += 1000;
  folder.write("work/tally-0001.json", tally_json(*kept));
  const auto done = run();
  ASSERT_TRUE(done) << done.error().message;
  EXPECT_EQ(done->tally.input.judged, 400U);
  EXPECT_EQ(done->tally.input.unreadable, 1000U);
  EXPECT_EQ(done->tally.sides[0].rules[0].fired, 299U) << "101 mg to 399 mg";
}

TEST_F(ReplayWork, IsOfOneRun) {
  ASSERT_TRUE(run(true)->stopped);
  plan.seed = 2;
  const auto other = run();
  ASSERT_FALSE(other);
  EXPECT_EQ(other.error().code, engine::Errc::Usage);
  EXPECT_THAT(other.error().message, HasSubstr("other files, rules or settings"));
  plan.seed = 1;
  ASSERT_TRUE(run());
  folder.write("work/letter.txt", "something of somebody's");
  const auto stray = run();
  ASSERT_FALSE(stray);
  EXPECT_THAT(stray.error().message, HasSubstr("is not empty and holds no replay"));
  EXPECT_EQ(text_of("work/letter.txt"), "something of somebody's");
}

TEST_F(ReplayWork, ReadsAnewWhatWasNotWrittenToItsEnd) {
  ASSERT_TRUE(run(true)->stopped);
  folder.write("work/part-0000", "the beginning of a rec");
  const auto done = run();
  ASSERT_TRUE(done) << done.error().message;
  EXPECT_EQ(done->tally.input.judged, 400U);
}

TEST_F(ReplayWork, KilledAtAnyInstantWhileItIsEmptiedGivesTheSameAgain) {
  int interrupted = 0;
  for (int removals = 0; removals < 40; ++removals) {
    removals_left = removals;
    const auto first = run();
    removals_left = -1;
    ASSERT_TRUE(first) << first.error().message;
    interrupted += fs::exists(folder / "work/run.json") ? 1 : 0;
    const auto again = run();
    ASSERT_TRUE(again) << again.error().message;
    ASSERT_EQ(again->tally.input.judged, 400U) << "after " << removals << " removals";
    ASSERT_EQ(again->tally.sides[0].rules[0].fired, 299U) << "101 mg to 399 mg";
    ASSERT_TRUE(!fs::exists(folder / "work") || fs::is_empty(folder / "work"));
  }
  EXPECT_GE(interrupted, 10) << "the files of 5 parts, and what says that they are whole";
}

TEST_F(ReplayWork, TakesWhatAKilledRunHadNotWrittenToItsEndForNothing) {
  fs::create_directory(folder / "work");
  folder.write("work/run.json.unfinished", "{\"run\":");
  ASSERT_TRUE(run(true)->stopped) << "it is as if the folder were empty";
  folder.write("work/tally-0001.json.unfinished", "{\"mon");
  folder.write("work/written.json.unfinished", "{");
  const auto done = run();
  ASSERT_TRUE(done) << done.error().message;
  EXPECT_EQ(done->tally.input.judged, 400U);
  EXPECT_TRUE(fs::is_empty(folder / "work"));
}

}  // namespace
}  // namespace meniscus::adapters::replay
