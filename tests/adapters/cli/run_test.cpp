// Output that cannot be written, by any command: exit status 4, and why, once.
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "adapters/cli/run.hpp"
#include "tests/adapters/cli/captured_console.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {

constexpr std::int64_t kToday = 20514;  // 2026-03-02
const std::string kRules = MENISCUS_SOURCE_DIR "/rules";
const std::string kOrder =
    R"({"order":{"id":"A-1","placed":"2026-03-02"},"patient":{"id":"SM-0012"},)"
    R"("substance":{"code":"testosterone-cypionate"},"dose":"50 mg"})";

/// A console whose standard output takes `room` bytes and no more, as a full disk does.
struct FullConsole : testing::CapturedConsole {
  explicit FullConsole(std::size_t room) {
    today = kToday;
    out = [this, room](std::string_view text) -> engine::Status {
      if (said.size() + text.size() > room)
        return engine::Error{engine::Errc::Input, "the output could not be written: it is full", 0,
                             0};
      said += text;
      return engine::Done{};
    };
  }
};

class FullOutput : public ::testing::Test {
 public:
  void SetUp() override {
    testing::CapturedConsole console;
    console.today = kToday;
    const std::vector<std::string> import = {"history",      "import",  store, orders,
                                             "--only-rules", "--rules", kRules};
    ASSERT_EQ(run_program(import, console), ExitStatus::Clean) << console.complained;
  }
  /// Each command that says something and ends.
  [[nodiscard]] std::vector<std::vector<std::string>> commands() const {
    return {{"--help"},
            {"--version"},
            {"check", "--help"},
            {"config"},
            {"check", orders, "--only-rules", "--rules", kRules},
            {"explain", orders, "--order", "A-1", "--only-rules", "--rules", kRules},
            {"rules", "list", "--only-rules", "--rules", kRules},
            {"rules", "page", "--only-rules", "--rules", kRules},
            {"rules", "explain-code", "R0420"},
            {"history", "list", store},
            {"history", "list", store, "--patient", "SM-0012"},
            {"history", "export", store},
            {"history", "prune", store, "--before", "2020-01-01"},
            {"history", "merge", store, "SM-0012", "SM-0012"},
            {"quarantine", "list", folder.path().string()}};
  }

  testing::TestFolder folder;
  std::string orders = folder.write("orders.ndjson", kOrder + "\n");
  std::string store = "sqlite:" + (folder / "history.db");
};

TEST_F(FullOutput, IsStatusFourForEveryCommandAndSaidOnce) {
  for (const std::vector<std::string>& words : commands()) {
    FullConsole console(0);
    EXPECT_EQ(run_program(words, console), ExitStatus::Internal) << words.back();
    EXPECT_EQ(console.complained, "meniscus: the output could not be written: it is full\n")
        << words.back();
  }
}

TEST_F(FullOutput, TheSameCommandsEndWellWhereThereIsRoom) {
  for (const std::vector<std::string>& words : commands()) {
    FullConsole console(std::size_t{1} << 24U);
    EXPECT_LT(run_program(words, console), ExitStatus::Usage) << words.back() << console.complained;
    EXPECT_NE(console.said, "") << words.back();
  }
}

TEST_F(FullOutput, IsStatusFourWhereOnlyTheEndWasLost) {
  FullConsole all(std::size_t{1} << 24U);
  ASSERT_EQ(run_program({"rules", "explain-code", "R0420"}, all), ExitStatus::Clean);
  FullConsole most(all.said.size() - 1);
  EXPECT_EQ(run_program({"rules", "explain-code", "R0420"}, most), ExitStatus::Internal);
}

}  // namespace
}  // namespace meniscus::adapters
