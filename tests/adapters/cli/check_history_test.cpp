// `check --history`: a run knows the orders of the runs before it, and says how far back it knows.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "adapters/cli/run.hpp"

namespace meniscus::adapters {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;
using ::testing::Not;

class CheckHistory : public ::testing::Test {
 public:
  CheckHistory() {
    fs::create_directories(folder);
    write("rest.rule",
          "rule rest \"Let a site rest\"\n"
          "    concerns all orders\n"
          "    let here = latest earlier injection within 14 days\n"
          "    raise clarify when days since here.when < 7 days\n"
          "        say \"The last was {days since here.when} ago.\"\n"
          "        blames order.id\n");
  }
  ~CheckHistory() override { fs::remove_all(folder); }

  void write(const std::string& name, const std::string& text) const {
    std::ofstream(folder / name, std::ios::binary) << text;
  }
  [[nodiscard]] std::string path(const std::string& name) const { return (folder / name).string(); }

  /// Checks one order of SM-0012; gives the exit status.
  int check(const std::string& id, const std::string& day, const std::string& store) {
    write("order.ndjson", R"({"order":{"id":")" + id + R"(","placed":")" + day +
                              R"("},"patient":{"id":"SM-0012"},"dose":"50 mg"})" + "\n");
    said.clear();
    complained.clear();
    Console console;
    console.out = [this](std::string_view bytes) -> engine::Status {
      said += bytes;
      return engine::Done{};
    };
    console.err = [this](std::string_view bytes) -> engine::Status {
      complained += bytes;
      return engine::Done{};
    };
    console.today = 20514;
    const ExitStatus status = run_program({"check", path("order.ndjson"), "--only-rules", "--rules",
                                           path("rest.rule"), "--to", "jsonl", "--history", store},
                                          console);
    return static_cast<int>(status);
  }

  // Its own for each test: they run side by side.
  fs::path folder =
      fs::temp_directory_path() / (std::string("meniscus-check-history-") +
                                   ::testing::UnitTest::GetInstance()->current_test_info()->name());
  std::string store = "sqlite:" + path("history.db");
  std::string said;
  std::string complained;
};

TEST_F(CheckHistory, FindsWhatEarlierRunsWereGiven) {
  check("A-1", "2026-02-02", store);
  EXPECT_THAT(said, HasSubstr(R"("history":"store")"));
  EXPECT_THAT(said, HasSubstr(R"("missing":"history before 2026-02-02")"));
  EXPECT_EQ(check("A-2", "2026-03-02", store), 0) << said;
  EXPECT_THAT(said, HasSubstr(R"("outcome":"clear")")) << "a fortnight back is known by now";
  EXPECT_EQ(check("A-3", "2026-03-05", store), 1);
  EXPECT_THAT(said, HasSubstr("The last was 3 days ago."));
  const std::string first = said;
  EXPECT_EQ(check("A-3", "2026-03-05", store), 1);
  EXPECT_EQ(said, first) << "an order that is sent again is not its own history";
}

TEST_F(CheckHistory, IsRefusedWithAReason) {
  EXPECT_EQ(check("A-1", "2026-02-02", "history.db"), 3);
  EXPECT_THAT(complained, HasSubstr("write --history sqlite:PATH"));
  EXPECT_EQ(check("A-1", "2026-02-02", "sqlite:" + path("nowhere/history.db")), 3);
  EXPECT_THAT(complained, HasSubstr("cannot be opened or made"));
  EXPECT_THAT(said, Not(HasSubstr("outcome"))) << "nothing is judged without its history";
}

}  // namespace
}  // namespace meniscus::adapters
