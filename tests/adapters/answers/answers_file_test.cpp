// Lines of answers: what is read, what is refused and where, and adding to the file.
#include "adapters/answers/answers_file.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <ostream>
#include <thread>
#include <vector>

namespace meniscus::adapters {
namespace {
namespace fs = std::filesystem;
using engine::Answer;
using ::testing::ElementsAre;

Answer sample() {
  Answer answer;
  answer.order = "A-\"1\"";
  answer.patient = "SM-0012";
  answer.rule = "big";
  answer.conditions = 0x0123456789abcdefU;
  answer.say = "2 mL is much.";
  answer.ask = "Really?";
  answer.text = "Yes,\nin two \u00b5L steps";
  answer.by = "prescriber";
  answer.on = 20514;
  answer.until = 20914;
  answer.values = {{"volume", "2 mL"}, {"vial.opened", std::nullopt}, {"a/b~c", ""}};
  answer.line = 1;
  return answer;
}

TEST(AnswersFile, GivesBackWhatItWrote) {
  Answer patient = sample();
  patient.order.clear();
  patient.ask.clear();
  patient.line = 2;
  const ReadAnswers read = read_answers(answer_line(sample()) + answer_line(patient));
  EXPECT_TRUE(read.problems.empty());
  EXPECT_THAT(read.answers.all(), ElementsAre(sample(), patient));
}

TEST(AnswersFile, FindsAnswersByWhatTheyAreFor) {
  Answer patient = sample();
  patient.order.clear();
  const ReadAnswers read =
      read_answers(answer_line(sample()) + answer_line(patient) + answer_line(sample()));
  const auto* own = read.answers.find("A-\"1\"", "SM-0012", "big");
  ASSERT_NE(own, nullptr);
  EXPECT_EQ(own->size(), 2U);
  const auto* all = read.answers.find("", "SM-0012", "big");
  ASSERT_NE(all, nullptr);
  EXPECT_EQ(all->front()->line, 2U);
  EXPECT_EQ(read.answers.find("SM-0012", "", "big"), nullptr);
  EXPECT_EQ(read.answers.find("", "SM-0012", "small"), nullptr);
}

struct Mistake {
  std::string_view name, from, to, said;
};
std::ostream& operator<<(std::ostream& os, const Mistake& m) { return os << m.said; }
constexpr std::string_view kLine =
    R"({"order":"A","rule":"big","conditions":"0123456789abcdef","answer":"y","by":"r",)"
    R"("on":"2026-03-02","until":"2026-04-02","values":{"dose":"1 mg"}})";
const Mistake kMistakes[] = {
    {"NoJson", R"("order":"A")", R"("order":A)",
     "f:2:10: error: this is no JSON: `A` where a value is needed"},
    {"NoObject", kLine, "[1]", "f:2:1: error: an answer is an object in UTF-8"},
    {"UnknownKey", R"("until")", R"("untill")",
     "f:2:108: error: unknown key `untill`; is `until` meant? (/untill)"},
    {"TwoLastDays", R"("values")", R"("until":"2026-04-03","values")",
     "f:2:1: error: `until` stands here twice"},
    {"NoDay", "2026-04-02", "2026-04-31",
     "f:2:107: error: `2026-04-31` is no day; write it as 2026-03-02 (/until)"},
    {"NoWholeDay", "2026-04-02", "2026-04",
     "f:2:107: error: `2026-04` is no day; write it as 2026-03-02 (/until)"},
    {"NoText", R"("by":"r")", R"("by":7)", "f:2:77: error: text in quotes is needed (/by)"},
    {"Empty", R"("by":"r")", R"("by":"")", "f:2:1: error: `by` is needed"},
    {"NotThere", R"("answer":"y",)", "", "f:2:1: error: `answer` is needed"},
    {"NoValues", R"(,"values":{"dose":"1 mg"})", "", "f:2:1: error: `values` is needed"},
    {"EmptyOrder", R"("order":"A")", R"("order":"","patient":"P")",
     "f:2:10: error: `order` is empty; name it, or leave it out (/order)"},
    {"ForNobody", R"("order":"A",)", "",
     "f:2:1: error: `order` or `patient` is needed: what the answer is for"},
    {"NoFingerprint", "0123456789abcdef", "0123",
     "f:2:40: error: 16 hexadecimal digits are needed, as `meniscus answer` wrote (/conditions)"},
    {"EndsBefore", "2026-04-02", "2026-03-01",
     "f:2:107: error: the last day is before the day of the answer (/until)"},
    {"TooLong", "2026-04-02", "2027-04-07",
     "f:2:107: error: the last day is more than 400 days after the day of the answer (/until)"},
    {"NumberAsValue", R"("1 mg")", "1", "f:2:137: error: text in quotes is needed (/values/dose)"},
    {"NoUtf8", R"("A")", "\"\xff\"",
     "f:2:11: error: this is no JSON: bytes that are no UTF-8 text"},
};

class AnswersMistake : public ::testing::TestWithParam<Mistake> {};
TEST_P(AnswersMistake, IsSaidWithItsPlaceAndAnswersNothing) {
  std::string wrong(kLine);
  const std::size_t at = wrong.find(GetParam().from);
  ASSERT_NE(at, std::string::npos);
  wrong.replace(at, GetParam().from.size(), GetParam().to);
  const ReadAnswers read =
      read_answers(std::string(kLine) + "\n" + wrong + "\n" + std::string(kLine));
  ASSERT_FALSE(read.problems.empty());
  EXPECT_EQ(describe(read.problems.front(), "f"), GetParam().said);
  EXPECT_EQ(read.answers.all().size(), 2U);  // the lines around it hold
}
INSTANTIATE_TEST_SUITE_P(Lines, AnswersMistake, ::testing::ValuesIn(kMistakes),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(AnswersFile, TheLongestSpanIsReadAndRemarksAndEmptyLinesArePassedOver) {
  std::string longest(kLine);
  longest.replace(longest.find("2026-04-02"), 10, "2027-04-06");  // 400 days
  longest.insert(1, "\"_remark\":[1],");
  const ReadAnswers read = read_answers("\n" + longest + "\r\n \n");
  EXPECT_TRUE(read.problems.empty());
  EXPECT_EQ(read.answers.all().size(), 1U);
}

class AppendAnswers : public ::testing::Test {
 public:
  AppendAnswers() { fs::remove(path); }
  ~AppendAnswers() override { fs::remove(path); }

  [[nodiscard]] std::string content() const {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
  }

  const std::string path = ::testing::TempDir() + "meniscus-answers-" +
                           ::testing::UnitTest::GetInstance()->current_test_info()->name() +
                           ".jsonl";
};

TEST_F(AppendAnswers, MakesAFileForItsOwnerAlone) {
  const mode_t before = umask(0);
  EXPECT_TRUE(append_answers(path, "one\n"));
  umask(before);
  EXPECT_TRUE(append_answers(path, "two\n"));
  EXPECT_EQ(content(), "one\ntwo\n");
  EXPECT_EQ(fs::status(path).permissions(), fs::perms::owner_read | fs::perms::owner_write);
}

TEST_F(AppendAnswers, EndsALineThatHasNoEnd) {
  std::ofstream(path) << "by hand";
  EXPECT_TRUE(append_answers(path, "one\n"));
  EXPECT_EQ(content(), "by hand\none\n");
}

TEST_F(AppendAnswers, SaysWhyItCannot) {
  const engine::Status status = append_answers(path + "/no/such/folder", "one\n");
  ASSERT_FALSE(status);
  EXPECT_THAT(status.error().message, ::testing::HasSubstr("could not be kept in"));
}

TEST_F(AppendAnswers, WritersAtOnceDoNotMixTheirLines) {
  constexpr int kWriters = 4;
  constexpr int kEach = 50;
  std::vector<std::thread> writers;
  for (int writer = 0; writer < kWriters; ++writer) {
    writers.emplace_back([&] {
      for (int i = 0; i < kEach; ++i)
        EXPECT_TRUE(append_answers(path, answer_line(sample()) + answer_line(sample())));
    });
  }
  for (std::thread& writer : writers)
    writer.join();
  const ReadAnswers read = read_answers(content());
  EXPECT_TRUE(read.problems.empty());
  EXPECT_EQ(read.answers.all().size(), static_cast<std::size_t>(2 * kWriters * kEach));
}

}  // namespace
}  // namespace meniscus::adapters
