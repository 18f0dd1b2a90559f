// Frames in, answers out, without a network.
#include "adapters/service/answerer.hpp"

#include <gtest/gtest.h>

#include "tests/adapters/service/service_run.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::testing {
namespace {

using adapters::Answerer;
using adapters::mllp::Frame;
using adapters::mllp::FrameKind;

class Answers : public ::testing::Test {
 public:
  std::string answer(const std::string& bytes, FrameKind kind = FrameKind::Whole) {
    std::string out;
    const adapters::Asked asked{{kind, bytes}, &out};
    EXPECT_TRUE(answerer_.take_turn({&asked, 1}));
    metrics_.answered(bytes, out);
    return out;
  }
  /// As if the clinic had been there for long, and nothing had been given.
  void know_all() { adapters::know_since(0, history_); }
  [[nodiscard]] const engine::History& history() const { return history_; }
  [[nodiscard]] std::string metrics() const { return metrics_.text({}); }
  std::string trouble() { return answerer_.take_trouble(); }
  TestClock clock;

 private:
  const engine::Program& program_ = *shipped_rules().program;
  engine::History history_{program_.look_back, program_.history_fields, program_.history_written};
  adapters::Metrics metrics_;
  Answerer answerer_{shipped_rules(), usual_options().answers, clock, history_, metrics_};
};

TEST_F(Answers, AnOrderIsAcceptedAndOneOfTooMuchIsNot) {
  know_all();
  const std::string clear = answer(frame(order("A-1")));
  EXPECT_TRUE(has(clear, "\rMSA|AA|A-1\r"));
  EXPECT_TRUE(has(clear, "\rORC|OK|A-1|"));
  const std::string held = answer(frame(order("A-2", "9999")));
  EXPECT_TRUE(has(held, "\rMSA|AA|A-2\r"));
  EXPECT_TRUE(has(held, "\rORC|UA|A-2|"));
  EXPECT_TRUE(has(held, "\rERR|"));
}

TEST_F(Answers, WhatCameBeforeTheServiceIsNotTakenForNothing) {
  const std::string first = answer(frame(order("A-1")));
  EXPECT_TRUE(has(first, "\rMSA|AA|A-1\r"));
  EXPECT_TRUE(has(first, "history before 2026-03-02 missing"));
  EXPECT_FALSE(has(first, "\rORC|OK|")) << "an interval that nobody could check is not accepted";
}

TEST_F(Answers, EachIsFramed) {
  const std::string out = answer(frame(order("A-1")));
  EXPECT_TRUE(out.starts_with("\x0BMSH|"));
  EXPECT_TRUE(out.ends_with("\r\x1C\r"));
}

TEST_F(Answers, SeveralMessagesOfOneFrameAreAnsweredEach) {
  const std::string out = answer(frame(order("A-1") + order("A-2")));
  EXPECT_TRUE(has(out, "MSA|AA|A-1\r"));
  EXPECT_TRUE(has(out, "MSA|AA|A-2\r"));
}

TEST_F(Answers, WhatCannotBeReadIsRefused) {
  EXPECT_TRUE(has(answer(frame("hello")), "\rMSA|AR|\r"));
  EXPECT_TRUE(has(answer("\x0B" + order("A-1"), FrameKind::Cut), "\rMSA|AR|A-1\r"));
  EXPECT_TRUE(has(answer(frame(order("A-2"))), "\rMSA|AA|A-2\r"));
}

TEST_F(Answers, EnhancedModeRejectsAtTheCommit) {
  const std::string out = answer("\x0B" + order("A-1", "15", "AL|NE"), FrameKind::Cut);
  EXPECT_TRUE(has(out, "\rMSA|CR|A-1\r"));
  EXPECT_FALSE(has(out, "MSA|AR"));
}

TEST_F(Answers, ATooLargeOneIsRefusedByItsBeginning) {
  const std::string out = answer("\x0B" + order("A-1").substr(0, 90), FrameKind::TooLarge);
  EXPECT_TRUE(has(out, "\rMSA|AR|A-1\r"));
  EXPECT_TRUE(has(out, "larger than what is read here"));
}

TEST_F(Answers, AnEmptyFrameIsRefused) {
  for (const std::string nothing : {"\x0B\x1C\r", "\x0B\x1C", "\x0B\r\n\x1C\r"}) {
    const std::string out = answer(nothing);
    EXPECT_TRUE(has(out, "\rMSA|AR|\r")) << out;
    EXPECT_TRUE(has(out, "the frame holds no message"));
  }
  EXPECT_EQ(answer(frame("\x06")), "") << "a commit block of MLLP release 2 is no message";
}

TEST_F(Answers, WhatIsOffInABatchIsForTheLogAndCounted) {
  know_all();
  const std::string both = "BHS|^~\\&|APP\r" + order("A-1") + order("A-2");
  const std::string out = answer(frame(both + "BTS|3\r"));
  EXPECT_TRUE(has(out, "MSA|AA|A-1\r"));
  EXPECT_TRUE(has(out, "MSA|AA|A-2\r"));
  EXPECT_EQ(trouble(),
            "in a batch: the batch trailer (BTS-1) says 3, 2 were read: some may be lost");
  EXPECT_FALSE(has(answer(frame(both)), "MSA|AR")) << "its messages are judged";
  EXPECT_EQ(trouble(), "in a batch: the batch has no trailer (BTS): some of it may be lost");
  EXPECT_EQ(answer(frame("BHS|^~\\&|APP\rBTS|3\r")), "") << "there is no message to answer";
  EXPECT_TRUE(has(trouble(), "says 3, 0 were read"));
  EXPECT_TRUE(has(metrics(), "meniscus_batches_off_total 3\n"));
  answer(frame(both + "BTS|2\r"));
  EXPECT_EQ(trouble(), "");
  EXPECT_TRUE(has(metrics(), "meniscus_batches_off_total 3\n"));
}

TEST_F(Answers, AreCountedByKindAndCode) {
  answer(frame(order("A-1")));
  answer(frame(order("A-2", "9999")));
  answer(frame("hello"));
  std::string incomplete = order("A-3", "15", "AL|AL");
  incomplete.erase(incomplete.find("AL1|"), 10);  // nothing is known of allergies
  answer(frame(incomplete));
  const std::string text = metrics();
  EXPECT_TRUE(has(text, "meniscus_answers_total{kind=\"RDE\",code=\"AA\"} 3\n"));
  EXPECT_TRUE(has(text, "meniscus_answers_total{kind=\"RDE\",code=\"CA\"} 1\n"));
  EXPECT_TRUE(has(text, "meniscus_answers_total{kind=\"other\",code=\"AR\"} 1\n"));
  EXPECT_TRUE(has(text, "meniscus_findings_total{rule=\"dose-range\",grade=\"hold\"} 1\n"));
  EXPECT_TRUE(has(text, "meniscus_findings_total{rule=\"unreadable\",grade=\"hold\"} 1\n"));
  EXPECT_TRUE(has(text, "meniscus_not_assessed_total{missing=\"patient.allergies\"} 1\n"));
  EXPECT_FALSE(has(text, "ketorolac"));
}

TEST_F(Answers, HistoryHoldsRecordsAndForgetsOldOnes) {
  const auto given_on = [](int day) {
    std::string digits = std::to_string(day);
    if (digits.size() < 2) digits = "0" + digits;
    return digits;
  };
  // One patient over eight years: what is older than the look-back goes.
  std::size_t most = 0;
  for (int year = 2018; year < 2026; ++year) {
    for (int month = 1; month <= 12; ++month) {
      const std::string date = std::to_string(year) + given_on(month) + "02";
      const std::string id = "A-" + date;
      std::string text = order(id);
      text.replace(text.find("20260302"), 8, date);
      EXPECT_TRUE(has(answer(frame(text)), "MSA|AA|" + id));
      most = std::max(most, history().records());
    }
  }
  EXPECT_GT(most, 12U);
  EXPECT_LT(most, 30U);
}

/// Messages of every kind, in a mixture.
std::vector<std::string> mixed_messages() {
  std::vector<std::string> messages;
  for (int i = 0; i < 40; ++i) {
    std::string text =
        order("A-" + std::to_string(i), i % 5 == 0 ? "9999" : "15", i % 7 == 0 ? "AL|AL" : "");
    text.replace(text.find("SM-0012"), 7, "SM-00" + std::to_string(10 + i % 9));
    messages.push_back(frame(text));
  }
  const auto put = [&](int at, const std::string& bytes) {
    messages.insert(messages.begin() + at, bytes);
  };
  put(3, frame("hello"));
  put(9, frame(order("A-100") + order("A-101")));
  put(17, frame("MSH|^~\\&|APP|FAC|RX|PH|20260302||ADT^A08|Z-1|P|2.5.1\r"));
  put(18, frame("MSH|^~\\&|APP|FAC|RX|PH|20260302||ACK|Z-2|P|2.5.1\rMSA|AA|1\r"));
  put(21, frame(order("A-7")));               // an order that came before
  put(22, "\x0B" + order("A-102") + "\x1C");  // without its CR
  return messages;
}

struct Said {
  std::vector<std::string> answers;
  std::string counted;
  friend bool operator==(const Said&, const Said&) = default;
};

/// An answer's own control id, MSH-10, counts up.
std::string without_control_ids(std::string answer) {
  constexpr unsigned kControlId = 9;  // separators before it
  for (std::size_t at = answer.find("MSH|"); at != std::string::npos;
       at = answer.find("MSH|", at + 1)) {
    std::size_t begin = at;
    for (unsigned separator = 0; separator < kControlId; ++separator)
      begin = answer.find('|', begin) + 1;
    answer.erase(begin, answer.find('|', begin) - begin);
  }
  return answer;
}

/// The answers to `messages`, so many in a turn.
Said answers_to(const std::vector<std::string>& messages, std::size_t at_once, bool is_kept) {
  const TestFolder folder;
  const engine::Program& program = *shipped_rules().program;
  engine::History history(program.look_back, program.history_fields, program.history_written);
  const TestClock clock;
  adapters::Metrics metrics;
  std::unique_ptr<adapters::KeptHistory> kept;
  if (is_kept) {
    kept = std::move(*adapters::KeptHistory::open("sqlite:" + (folder / "history.db")));
    EXPECT_TRUE(kept->load(shipped_rules().program, clock.today(), history));
  }
  Answerer answerer(shipped_rules(), usual_options().answers, clock, history, metrics,
                    {kept.get(), nullptr});
  Said said;
  said.answers.resize(messages.size());
  for (std::size_t next = 0; next < messages.size();) {
    std::vector<adapters::Asked> asked;
    for (; next < messages.size() && asked.size() < at_once; ++next)
      asked.push_back({{FrameKind::Whole, messages[next]}, &said.answers[next]});
    EXPECT_TRUE(answerer.take_turn(asked));
  }
  said.counted = metrics.text({});
  for (std::string& answer : said.answers)
    answer = without_control_ids(answer);
  return said;
}

TEST(TogetherAndAlone, AnswersAreTheSame) {
  const std::vector<std::string> messages = mixed_messages();
  for (const bool is_kept : {false, true}) {
    SCOPED_TRACE(is_kept ? "with a store" : "without a store");
    const Said alone = answers_to(messages, 1, is_kept);
    for (const std::size_t at_once : {2, 7, 64})
      EXPECT_EQ(answers_to(messages, at_once, is_kept), alone) << at_once;
    EXPECT_TRUE(has(alone.answers.back(), "MSA|AA|"));
  }
}

}  // namespace
}  // namespace meniscus::testing
