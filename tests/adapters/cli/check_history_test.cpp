// `check --history`: a run knows the orders of the runs before it, and says how far back it knows.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

#include "adapters/cli/run.hpp"
#include "tests/adapters/cli/captured_console.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

class CheckHistory : public ::testing::Test {
 public:
  CheckHistory() {
    folder.write("rest.rule",
                 "rule rest \"Let a site rest\"\n"
                 "    concerns all orders\n"
                 "    let here = latest earlier injection within 14 days\n"
                 "    raise clarify when days since here.when < 7 days\n"
                 "        say \"The last was {days since here.when} ago.\"\n"
                 "        blames order.id\n");
  }

  /// Checks one order of SM-0012; gives the exit status.
  int check(const std::string& id, const std::string& day, const std::string& store) {
    const std::string order =
        folder.write("order.ndjson", R"({"order":{"id":")" + id + R"(","placed":")" + day +
                                         R"("},"patient":{"id":"SM-0012"},"dose":"50 mg"})" + "\n");
    testing::CapturedConsole console;
    console.today = 20517;  // 2026-03-05
    const ExitStatus status =
        run_program({"check", order, "--only-rules", "--rules", folder / "rest.rule", "--to",
                     "jsonl", "--history", store},
                    console);
    said = console.said;
    complained = console.complained;
    return static_cast<int>(status);
  }

  testing::TestFolder folder;
  std::string store = "sqlite:" + (folder / "history.db");
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

TEST_F(CheckHistory, IsLookedAtByThoseWhoExplainAndAnswerAndStaysAsItIs) {
  check("A-1", "2026-02-02", store);
  check("A-2", "2026-03-02", store);
  const std::string order = folder.write(
      "later.ndjson",
      R"({"order":{"id":"A-3","placed":"2026-03-05"},"patient":{"id":"SM-0012"},"dose":"50 mg"})"
      "\n");
  const auto run = [&](std::vector<std::string> words) {
    for (const std::string& word : {std::string("--only-rules"), std::string("--rules"),
                                    folder / "rest.rule", std::string("--history"), store})
      words.push_back(word);
    testing::CapturedConsole console;
    console.today = 20517;  // 2026-03-05
    const ExitStatus status = run_program(words, console);
    said = console.said;
    complained = console.complained;
    return static_cast<int>(status);
  };
  EXPECT_EQ(run({"explain", order, "--order", "A-3"}), 0) << complained;
  EXPECT_THAT(said, HasSubstr("The last was 3 days ago."));
  const std::string answers = folder / "answers.jsonl";
  EXPECT_EQ(run({"answer", order, "--order", "A-3", "--rule", "rest", "--by", "prescriber",
                 "--text", "The dose is split", "--until", "2026-06-30", "--answers", answers}),
            0)
      << complained;
  EXPECT_EQ(run({"answers", answers, "--on", order}), 0) << complained;
  EXPECT_THAT(said, HasSubstr("A-3"));
  testing::CapturedConsole console;
  run_program({"history", "export", store}, console);
  EXPECT_THAT(console.said, HasSubstr("A-2"));
  EXPECT_THAT(console.said, Not(HasSubstr("A-3"))) << "nobody has checked it";
}

TEST_F(CheckHistory, IsRefusedWithAReason) {
  EXPECT_EQ(check("A-1", "2026-02-02", "history.db"), 3);
  EXPECT_THAT(complained, HasSubstr("write sqlite:PATH, or postgresql:"));
  EXPECT_EQ(check("A-1", "2026-02-02", "sqlite:" + (folder / "nowhere/history.db")), 3);
  EXPECT_THAT(complained, HasSubstr("cannot be opened or made"));
  EXPECT_THAT(said, Not(HasSubstr("outcome"))) << "nothing is judged without its history";
}

}  // namespace
}  // namespace meniscus::adapters
