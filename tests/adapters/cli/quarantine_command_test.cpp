// `meniscus quarantine`: what is held, and how it leaves.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "adapters/cli/run.hpp"
#include "adapters/quarantine/quarantine.hpp"
#include "tests/adapters/cli/captured_console.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {

using ::testing::HasSubstr;

class QuarantineCommand : public ::testing::Test {
 public:
  QuarantineCommand() {
    auto quarantine = std::move(*Quarantine::open(path));
    EXPECT_TRUE(quarantine->put("aa", "hello", {"no header", "", 1, 1'772'000'000}));
    // What was wrong with this one has been mended since: it can be read.
    EXPECT_TRUE(quarantine->put(
        "bb",
        "\x0BMSH|^~\\&|APP|FAC|RX|PH|20260302||RDE^O11^RDE_O11|M-1|P|2.5.1\r"
        "PID|1||SM-0012||||19880402\rAL1|1||\"\"\rORC|NW|A-1\r"
        "RXE||ketorolac|15||mg||||||||||||||||||||30|mg|||||||1|mL\rRXR|IM|LD\r\x1C\r",
        {"the table was missing", "RXE-2", 5, 1'772'086'400}));
  }
  int run(std::vector<std::string> words) {
    if (words[1] == "retry") {
      for (const char* const word : {"--only-rules", "--rules", MENISCUS_SOURCE_DIR "/rules"})
        words.emplace_back(word);
    }
    testing::CapturedConsole console;
    console.today = 20514;
    const ExitStatus status = run_program(words, console);
    said = console.said;
    complained = console.complained;
    return static_cast<int>(status);
  }

  testing::TestFolder folder;
  std::string path = folder / "quarantine";
  std::string said;
  std::string complained;
};

TEST_F(QuarantineCommand, ListsWhatIsHeldAndWhy) {
  EXPECT_EQ(run({"quarantine", "list", path}), 0);
  EXPECT_EQ(said,
            "aa  2026-02-25  5 bytes  no header\n"
            "bb  2026-02-26  180 bytes  the table was missing (RXE-2)\n"
            "2 messages in quarantine\n");
}

TEST_F(QuarantineCommand, WhatCanBeReadNowIsJudgedAndLeaves) {
  const std::string store = "sqlite:" + (folder / "history.db");
  EXPECT_EQ(run({"quarantine", "retry", path, "--history", store}), 2);
  EXPECT_THAT(said, HasSubstr("A-1  patient SM-0012"));
  EXPECT_THAT(complained, HasSubstr("still not read: aa"));
  run({"quarantine", "list", path});
  EXPECT_THAT(said, HasSubstr("1 message in quarantine"));
  run({"history", "list", store});
  EXPECT_THAT(said, HasSubstr("1 order of 1 patient"));
}

TEST_F(QuarantineCommand, RetriesAndDiscardsByName) {
  EXPECT_EQ(run({"quarantine", "retry", path, "aa"}), 2);
  EXPECT_EQ(said, "");
  EXPECT_EQ(run({"quarantine", "discard", path, "aa"}), 0);
  EXPECT_EQ(said, "1 message discarded\n");
  EXPECT_EQ(run({"quarantine", "discard", path, "aa"}), 3);
  EXPECT_THAT(complained, HasSubstr("holds no `aa`"));
  EXPECT_EQ(run({"quarantine", "discard", path}), 3);
  EXPECT_THAT(complained, HasSubstr("or write --all"));
  EXPECT_EQ(run({"quarantine", "discard", path, "--all"}), 0);
  EXPECT_EQ(run({"quarantine", "list", folder / "nowhere"}), 3);
  EXPECT_THAT(complained, HasSubstr("there is no folder"));
}

}  // namespace
}  // namespace meniscus::adapters
