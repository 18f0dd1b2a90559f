// What the orders of a feed never carry is said once, whatever form the answers have; and what is
// off in a batch.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "adapters/cli/run.hpp"
#include "adapters/history/sqlite_store.hpp"
#include "tests/adapters/cli/captured_console.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;
using ::testing::StartsWith;

constexpr std::int64_t kToday = 20514;  // 2026-03-02

class NeverCarried : public ::testing::Test {
 public:
  int run(std::vector<std::string> words) {
    for (const char* word : {"--only-rules", "--rules", MENISCUS_SOURCE_DIR "/rules"})
      words.emplace_back(word);
    testing::CapturedConsole console;
    console.today = kToday;
    console.local_day = [] { return kToday; };
    console.message_time = [] { return std::string("20260302091400+0100"); };
    const ExitStatus status = run_program(words, console);
    said = console.said;
    complained = console.complained;
    return static_cast<int>(status);
  }
  static std::string message(const std::string& id) {
    return "MSH|^~\\&|APP|FAC|RX|PH|20260302||RDE^O11^RDE_O11|" + id +
           "|P|2.5.1\rPID|1||SM-0012||||19880402\rAL1|1||\"\"\rORC|NW|" + id +
           "\rRXE||ketorolac|15||mg||||||||||||||||||||30|mg|||||||1|mL\rRXR|IM|LD\r";
  }
  [[nodiscard]] std::string two() const {
    return folder.write("two.hl7", message("A-1") + message("A-2"));
  }
  static std::ptrdiff_t count(std::string_view text, std::string_view part) {
    std::ptrdiff_t found = 0;
    for (std::size_t at = text.find(part); at != std::string_view::npos;
         at = text.find(part, at + 1))
      ++found;
    return found;
  }

  testing::TestFolder folder;
  std::string said;
  std::string complained;
};

TEST_F(NeverCarried, StandsInTheFirstVerdictOfAnInput) {
  for (const std::string threads : {"1", "2"}) {
    run({"check", two(), "--to", "jsonl", "--threads", threads});
    EXPECT_EQ(count(said, "\n"), 2) << "a verdict a line";
    EXPECT_EQ(count(said, R"("never_assessed":[{"missing":")"), 1);
    EXPECT_THAT(said.substr(0, said.find('\n')), HasSubstr(R"({"missing":"vial.kind","rules":[")"));
  }
  run({"check", two(), two(), "--to", "jsonl"});
  EXPECT_EQ(count(said, R"("never_assessed":[)"), 2) << "each input";
}

TEST_F(NeverCarried, IsSaidOnStandardErrorBesideAnswers) {
  const std::vector<std::string> answers = {"--from", "hl7", "--to", "hl7", "--on-hold", "ua"};
  for (const std::vector<std::string>& more :
       {std::vector<std::string>{}, {"--quarantine", folder / "held"}}) {
    std::vector<std::string> words = {"check", two()};
    words.insert(words.end(), answers.begin(), answers.end());
    words.insert(words.end(), more.begin(), more.end());
    run(words);
    EXPECT_THAT(said, StartsWith("MSH|"));
    EXPECT_THAT(complained, StartsWith("meniscus: these orders never carry "));
    EXPECT_THAT(complained, HasSubstr(", vial.kind,"));
    EXPECT_THAT(complained, HasSubstr("; not assessed, or only in part: "));
    EXPECT_EQ(count(complained, "\n"), 1) << complained;
  }
}

/// A rule that reads a field beside others is decided without it: it is in the list, and may speak.
TEST_F(NeverCarried, SaysThatRulesAreDecidedInPart) {
  run({"check", two(), "--to", "lines"});
  EXPECT_THAT(said, HasSubstr("rules not assessed, or only in part ("));
  run({"check", two()});
  EXPECT_THAT(said, HasSubstr("the rules that need it were not assessed, or only in part:"));
}

TEST_F(NeverCarried, ABatchThatIsOffIsARecordAndSaidBesideAnswers) {
  const std::string path = folder.write("batch.hl7", "BHS|^~\\&|APP\r" + message("A-1"));
  EXPECT_EQ(run({"check", path, "--to", "jsonl", "--fail-at", "hold"}), 2);
  EXPECT_THAT(said, HasSubstr("the batch has no trailer (BTS): some of it may be lost"));
  EXPECT_EQ(run({"check", path, "--to", "hl7", "--on-hold", "ua", "--fail-at", "hold"}), 2);
  EXPECT_THAT(complained, HasSubstr("the batch has no trailer (BTS): some of it may be lost"));
  EXPECT_THAT(said, Not(HasSubstr("MSA|AR")));
}

TEST_F(NeverCarried, ExplainSaysOfALockedStoreOnlyThat) {
  const auto holder = SqliteStore::open(folder / "history.db");
  ASSERT_TRUE(holder);
  EXPECT_EQ(
      run({"explain", two(), "--order", "A-1", "--history", "sqlite:" + (folder / "history.db")}),
      3);
  EXPECT_NE(complained, "");
  EXPECT_THAT(complained, Not(HasSubstr("there is no order")));
}

}  // namespace
}  // namespace meniscus::adapters
