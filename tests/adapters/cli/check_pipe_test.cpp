// `check --from hl7 --to hl7` with a store and a quarantine, from the command line to the exit
// status; each run is a process of its own as far as anything is kept.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "adapters/cli/run.hpp"
#include "tests/adapters/cli/captured_console.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

const std::string kRules = MENISCUS_SOURCE_DIR "/rules";

std::string order(const std::string& id, const std::string& dose, const std::string& time) {
  return "MSH|^~\\&|APP|FAC|RX|PH|" + time + "||RDE^O11^RDE_O11|" + id +
         "|P|2.5.1\rPID|1||SM-0012||||19880402\rAL1|1||\"\"\rORC|NW|" + id + "\rRXE||ketorolac|" +
         dose + "||mg||||||||||||||||||||30|mg|||||||1|mL\rRXR|IM|LD\r";
}

class CheckPipe : public ::testing::Test {
 public:
  /// The exit status.
  int run(const std::vector<std::string>& words) {
    testing::CapturedConsole console;
    console.today = 20514;
    console.local_day = [] { return std::int64_t{20514}; };
    console.message_time = [] { return std::string("20260302091400+0100"); };
    const ExitStatus status = run_program(words, console);
    said = console.said;
    complained = console.complained;
    return static_cast<int>(status);
  }
  int check(const std::string& messages, const std::vector<std::string>& options,
            const std::string& fail_at = "clarify") {
    std::vector<std::string> words = {"check",        folder.write("messages.hl7", messages),
                                      "--to",         "hl7",
                                      "--on-hold",    "ua",
                                      "--fail-at",    fail_at,
                                      "--only-rules", "--rules",
                                      kRules};
    words.insert(words.end(), options.begin(), options.end());
    return run(words);
  }

  testing::TestFolder folder;
  std::vector<std::string> kept = {"--history", "sqlite:" + (folder / "history.db"),
                                   "--history-since", "2020-01-01"};
  std::string held = folder / "held";
  std::string said;
  std::string complained;
};

TEST_F(CheckPipe, AMessageThatComesAgainCountsAsItsAnswerSays) {
  const std::string clear = order("A-1", "15", "20260302");
  const std::string too_much = order("A-2", "9999", "20260302");
  EXPECT_EQ(check(clear, kept), 0) << said;
  const std::string first = said;
  EXPECT_EQ(check(too_much, kept), 1);
  const std::string second = said;
  EXPECT_THAT(second, HasSubstr("\rORC|UA|A-2"));
  EXPECT_EQ(check(order("A-1", "15", "20260303"), kept), 0);
  EXPECT_EQ(said, first) << "its time alone is another";
  EXPECT_EQ(check(too_much, kept), 1) << "said again, it still refuses an order";
  EXPECT_EQ(said, second);
  EXPECT_EQ(check(order("A-1", "16", "20260302"), kept), 1);
  EXPECT_THAT(said, HasSubstr("\rMSA|AR|A-1\r"));
  EXPECT_EQ(run({"history", "list", kept[1]}), 0);
  EXPECT_THAT(said, HasSubstr("2 orders of 1 patient"));
}

TEST_F(CheckPipe, AMessageThatComesAgainCountsByItsGradesAndThisRunsFailAt) {
  // Without a word on allergies the order is incomplete, and refused whatever the fail grade is.
  std::string open = order("A-1", "15", "20260302");
  const std::string allergies = "AL1|1||\"\"\r";
  open.erase(open.find(allergies), allergies.size());
  const auto status = [&](const std::string& fail_at) { return check(open, kept, fail_at); };
  EXPECT_EQ(status("hold"), 0);
  const std::string first = said;
  EXPECT_THAT(first, HasSubstr("outcome incomplete"));
  EXPECT_THAT(first, HasSubstr("\rORC|UA|A-1"));
  EXPECT_EQ(status("hold"), 0) << "said again, it is no hold either";
  EXPECT_EQ(said, first);
  EXPECT_EQ(status("incomplete"), 1);
  EXPECT_EQ(said, first);
}

TEST_F(CheckPipe, AWindowOfNothingJudgesEachMessage) {
  kept.insert(kept.end(), {"--resend-window", "0"});
  check(order("A-1", "15", "20260302"), kept);
  EXPECT_EQ(check(order("A-1", "16", "20260302"), kept), 0);
  EXPECT_THAT(said, HasSubstr("\rMSA|AA|A-1\r"));
}

TEST_F(CheckPipe, AnotherFormatIsJudgedAsEver) {
  const std::string json = R"({"order":{"id":"A-1"},"patient":{"id":"SM-0012"},"dose":"50 mg"})";
  check(json, kept);
  EXPECT_THAT(said, HasSubstr("\rMSA|"));
  EXPECT_THAT(complained, Not(HasSubstr("MSH")));
}

TEST_F(CheckPipe, AQuarantineAloneKeepsWhatIsRefusedAndTakesTheInputForTheHistory) {
  const std::string bytes = "hello\r" + order("A-1", "15", "20260302");
  check(bytes, {"--from", "hl7"});
  const std::string without = said;
  EXPECT_EQ(check(bytes, {"--from", "hl7", "--quarantine", held}), 2);
  EXPECT_EQ(said, without) << "the same is said";
  EXPECT_THAT(without, HasSubstr("\rORC|OK|A-1")) << "nothing is missing from the history";
  EXPECT_THAT(complained, ::testing::StartsWith("meniscus: these orders never carry "));
  EXPECT_EQ(complained.find('\n'), complained.size() - 1) << "and nothing else";
  EXPECT_EQ(run({"quarantine", "list", held}), 0);
  EXPECT_THAT(said, HasSubstr("the text begins with no message header (MSH)"));
  EXPECT_THAT(said, HasSubstr("1 message in quarantine"));
  EXPECT_EQ(run({"quarantine", "retry", held, "--only-rules", "--rules", kRules}), 2);
  EXPECT_THAT(complained, HasSubstr("still not read: "));
}

TEST_F(CheckPipe, AnOrderIsJudgedAsOfTheDayThatIsSaid) {
  const std::string since = "history before 2020-01-01";
  check(order("A-1", "15", "20260302"), kept);
  EXPECT_THAT(said, Not(HasSubstr(since)));
  kept.insert(kept.end(), {"--as-of", "2020-01-01"});
  check(order("A-2", "15", "20260302"), kept);
  EXPECT_THAT(said, HasSubstr(since));
}

TEST_F(CheckPipe, AQuarantineThatCannotBeMadeStopsTheRunBeforeItBegins) {
  EXPECT_EQ(check("hello\r", {"--from", "hl7", "--quarantine", folder / "no/where"}), 3);
  EXPECT_EQ(said, "");
  EXPECT_THAT(complained, HasSubstr("cannot be made"));
}

}  // namespace
}  // namespace meniscus::adapters
