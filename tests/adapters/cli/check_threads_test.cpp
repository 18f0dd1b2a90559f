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

  testing::TestFolder folder;
};

TEST_F(CheckThreads, SayTheSameOfWholeLines) {
  expect_same(lines());
  expect_same(lines({}, "\r\n"));
  expect_same(lines({}, "\n\n  \n"));
  const std::string text = lines();
  expect_same(text.substr(0, text.size() - 1));  // no end of the last line
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
