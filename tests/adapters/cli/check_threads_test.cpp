// `check --threads`: several threads say what one says, byte for byte, whatever is in the file.
//
// Checked against the run with one thread, which reads the input as a whole.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <string>
#include <vector>

#include "adapters/cli/run.hpp"
#include "tests/adapters/cli/captured_console.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {

using ::testing::HasSubstr;

constexpr std::size_t kBytes = std::size_t{900} << 10U;  // more than one thread is worth

/// An order of one of few patients, so that earlier orders are found everywhere.
std::string order(std::size_t number) {
  return R"({"order":{"id":"A-)" + std::to_string(number) + R"(","placed":"2025-0)" +
         std::to_string(1 + number * 8 / 5000 % 9) + R"(-15"},"patient":{"id":"SM-00)" +
         std::to_string(10 + number % 37) + R"("},"dose":")" + std::to_string(number % 150) +
         R"( mg","route":"subcutaneous"})";
}

/// Lines of orders; every now and then one of `others` in place of an order.
std::string lines(const std::vector<std::string>& others = {}, const std::string& end = "\n") {
  std::mt19937 chance(7);
  std::string text;
  for (std::size_t i = 0; text.size() < kBytes; ++i) {
    const bool plain = others.empty() || i < 10 || chance() % 150 != 0;
    text += plain ? order(i) : others[chance() % others.size()];
    text += end;
  }
  return text;
}

/// The same order as an HL7 v2 message; `orders` of them, with ids of their own.
std::string message(std::size_t number, std::size_t orders = 1) {
  std::string text = "MSH|^~\\&|EHR|SLATEMOOR|MENISCUS|SLATEMOOR|20250" +
                     std::to_string(1 + number * 8 / 5000 % 9) + "15080000||RDE^O11^RDE_O11|M" +
                     std::to_string(number) + "|P|2.5.1\rPID|1||SM-00" +
                     std::to_string(10 + number % 37) + "^^^SLATEMOOR^MR\r";
  for (std::size_t i = 0; i < orders; ++i) {
    text += "ORC|NW|A-" + std::to_string(number) + "-" + std::to_string(i) + "||||||||||||||\r";
    text += "RXE||TE^testosterone enanthate^L|" + std::to_string((number + i) % 150) +
            "||mg|||||||||||||||||||||\rRXR|SC\r";
  }
  return text;
}

/// Messages, each with `end` behind it and `start` before it; every now and then one of `others` as
/// it is.
std::string messages(const std::vector<std::string>& others = {}, const std::string& start = "",
                     const std::string& end = "") {
  std::mt19937 chance(11);
  std::string text;
  for (std::size_t i = 0; text.size() < kBytes; ++i) {
    const bool plain = others.empty() || i < 10 || chance() % 150 != 0;
    if (plain)
      text.append(start).append(message(i, i % 7 == 0 ? 3 : 1)).append(end);
    else
      text += others[chance() % others.size()];
  }
  return text;
}

struct Ran {
  int status = 0;
  std::string said;
  std::string complained;
};

class CheckThreads : public ::testing::Test {
 public:
  CheckThreads() {
    folder.write("a.rule",
                 "rule large \"A large dose\"\n"
                 "    concerns all orders\n"
                 "    raise hold when dose > 140 mg say \"{dose} is large.\" blames dose\n"
                 "    without dose raise clarify say \"No dose.\"\n"
                 "rule often \"Not too often\"\n"
                 "    concerns all orders\n"
                 "    let before = number of earlier injections\n"
                 "    let last = latest earlier injection\n"
                 "    raise note when before >= 12 say \"{before} before.\" blames order.placed\n"
                 "    raise caution when last.dose > dose * 20 say \"{last.dose} before.\" blames "
                 "dose\n");
  }

  [[nodiscard]] Ran run(const std::string& input, const std::string& threads,
                        const std::vector<std::string>& more = {"--to", "jsonl"}) const {
    std::vector<std::string> words{"check",           input,       "--only-rules", "--rules",
                                   folder / "a.rule", "--threads", threads};
    words.insert(words.end(), more.begin(), more.end());
    testing::CapturedConsole console;
    console.today = 20514;
    console.message_time = [] { return std::string("20260302091400+0100"); };
    const ExitStatus status = run_program(words, console);
    return {static_cast<int>(status), console.said, console.complained};
  }

  void expect_same(const std::string& text,
                   const std::vector<std::string>& more = {"--to", "jsonl"}) const {
    const std::string input = folder.write("a.ndjson", text);
    const Ran one = run(input, "1", more);
    EXPECT_THAT(one.said, HasSubstr("often")) << one.complained;
    for (const char* const threads : {"2", "3", "7"}) {
      const Ran some = run(input, threads, more);
      EXPECT_EQ(some.status, one.status);
      EXPECT_EQ(some.complained, one.complained);
      // Not EXPECT_EQ: a megabyte is no help.
      EXPECT_TRUE(some.said == one.said)
          << threads << " threads: " << some.said.size() << " for " << one.said.size() << " bytes";
    }
  }

  void expect_same_answers(const std::string& text) const {
    const std::string input = folder.write("a.hl7", text);
    const std::vector<std::string> more{"--to", "hl7", "--on-hold", "ua"};
    const Ran one = run(input, "1", more);
    EXPECT_THAT(one.said, HasSubstr("MSA|AA|M1\r")) << one.complained;
    const Ran some = run(input, "3", more);
    EXPECT_EQ(some.status, one.status);
    EXPECT_TRUE(some.said == one.said) << some.said.size() << " for " << one.said.size();
  }

  testing::TestFolder folder;
};

TEST_F(CheckThreads, SayTheSameOfWholeLines) {
  expect_same(lines());
  expect_same(lines({}, "\r\n"));
  expect_same(lines({}, "\n\n  \n"));
  const std::string text = lines();
  expect_same(text.substr(0, text.size() - 1));  // no end of the last line
}

TEST_F(CheckThreads, SayTheSameOfMessages) {
  expect_same(messages());
  expect_same(messages({}, "\x0B", "\x1C\r"));
  expect_same(messages({}, "", "\n"));
  std::string text = messages();
  std::ranges::replace(text, '\r', '\n');
  expect_same(text);
}

TEST_F(CheckThreads, SayTheSameOfMessagesThatCannotBeRead) {
  const std::string merge =
      "MSH|^~\\&|EHR|S|M|S|20250301||ADT^A40^ADT_A39|X1|P|2.5.1\rPID|1||SM-0011^^^SLATEMOOR^MR\r"
      "MRG|SM-0012^^^SLATEMOOR^MR\r";
  const std::string never_closed = "\x0B" + message(3);
  const std::vector<std::string> others{"hello\r", "MSH|^~\\&|EHR\r", never_closed,
                                        merge,     "\r\n \n",         message(7, 200)};
  expect_same(messages(others));
  expect_same(messages(others, "\x0B", "\x1C\r"));
  expect_same(messages() + "MSH|^~\\&|EHR|S|M|S|2025");
}

TEST_F(CheckThreads, SayTheSameOfBatchesAndTheirCounts) {
  const std::string batch = "BHS|^~\\&|EHR\r" + message(1) + message(2, 2) + "BTS|3\r";
  expect_same("FHS|^~\\&|EHR\r" + messages({batch}) + "BTS|17\rFTS|900000\r");
  expect_same("FHS|^~\\&|EHR\rBHS|^~\\&|EHR\r" + messages({batch}) + "BHS|^~\\&|EHR\r");
}

TEST_F(CheckThreads, AnswerMessagesAlike) {
  expect_same_answers(messages({"hello\r", message(7, 200)}, "\x0B", "\x1C\r"));
}

TEST_F(CheckThreads, SayTheSameOfWhatIsNoOrder) {
  expect_same(lines({R"({"dose":)", "no JSON at all", R"({"dose":"5 mg"}})", "",
                     R"({"nothing":"of an order"})", R"({"dose":"5 mg"} {"dose":"6 mg"})"}));
}

TEST_F(CheckThreads, SayTheSameOfRecordsThatGoOnOverLines) {
  expect_same(lines({"{\n  \"dose\": \"145 mg\",\n  \"patient\": {\"id\": \"SM-0011\"}\n}"}));
  expect_same(lines({"[" + order(1) + ",\n" + order(2) + "\n]"}));
  expect_same(lines({"{\"patient\":{\"id\":\"SM-0011\"},\"x-seen\":{\"a\":1}\n}"}));
}

TEST_F(CheckThreads, SayTheSameOfAListThatIsNeverClosed) {
  std::string text = lines();
  const std::size_t line = text.find('\n', text.size() / 2);
  text.insert(line + 1, "[\n");
  expect_same(text);
}

TEST_F(CheckThreads, SayTheSameOfLongRecords) {
  const std::string note(200'000, 'x');  // longer than a piece may be
  expect_same(lines({R"({"patient":{"id":"SM-0011"},"dose":"5 mg","x-note":")" + note + "\"}"}));
  const std::string long_line(9'000, 'y');  // few of them are a piece
  expect_same(
      lines({R"({"patient":{"id":"SM-0011"},"dose":"5 mg","x-note":")" + long_line + "\"}"}));
}

TEST_F(CheckThreads, SayTheSameInEveryReport) {
  for (const char* const to : {"text", "lines", "sarif", "junit"})
    expect_same(lines({R"({"dose":)"}), {"--to", to});
}

TEST_F(CheckThreads, KeepTheSameHistory) {
  const std::string input = folder.write("a.ndjson", lines());
  const Ran one = run(input, "1", {"--to", "jsonl", "--history", "sqlite:" + (folder / "1.db")});
  const Ran some = run(input, "3", {"--to", "jsonl", "--history", "sqlite:" + (folder / "3.db")});
  EXPECT_TRUE(some.said == one.said);
  std::array<std::string, 2> exported;
  for (std::size_t i = 0; i < 2; ++i) {
    testing::CapturedConsole console;
    const std::string store = "sqlite:" + (folder / (i == 0 ? "1.db" : "3.db"));
    run_program({"history", "export", store}, console);
    exported.at(i) = console.said;
  }
  EXPECT_GT(exported[0].size(), 100'000U);
  EXPECT_TRUE(exported[0] == exported[1]);
}

TEST_F(CheckThreads, StopWhereTheOutputDoes) {
  const std::string input = folder.write("a.ndjson", lines());
  testing::CapturedConsole console;
  std::size_t written = 0;
  console.out = [&written](std::string_view text) -> engine::Status {
    written += text.size();
    if (written > 100'000) return engine::Error{engine::Errc::Input, "no room is left", 0, 0};
    return engine::Done{};
  };
  const ExitStatus status = run_program({"check", input, "--only-rules", "--rules",
                                         folder / "a.rule", "--threads", "3", "--to", "jsonl"},
                                        console);
  EXPECT_EQ(status, ExitStatus::Internal);
  EXPECT_THAT(console.complained, HasSubstr("no room is left"));
}

TEST_F(CheckThreads, AreAWholeNumber) {
  const std::string input = folder.write("a.ndjson", order(1) + "\n");
  const Ran none = run(input, "0");
  EXPECT_EQ(none.status, 3);
  EXPECT_THAT(none.complained, HasSubstr("--threads cannot be `0`; write a whole number from 1"));
}

}  // namespace
}  // namespace meniscus::adapters
