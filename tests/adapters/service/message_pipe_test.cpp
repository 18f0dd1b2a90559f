// A stream of messages, answered as the service answers them: framing, messages that come again
// after a new start, messages that cannot be read, and a store that fails at each of its calls.
//
// Source: HL7 v2.5.1, 2.10.3 (batches), table 0357 (205 duplicate key identifier; the number from
// memory); MLLP release 1 (block format, from memory).
#include "adapters/service/message_pipe.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "adapters/history/sqlite_store.hpp"
#include "adapters/input/byte_sources.hpp"
#include "tests/adapters/history/failing_store.hpp"
#include "tests/adapters/service/service_run.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::testing {
namespace {

using adapters::KeptHistory;
using adapters::MessagePipe;
using adapters::OrderStore;
using adapters::Quarantine;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

std::unique_ptr<OrderStore> open_file(const std::string& path) {
  auto store = adapters::SqliteStore::open(path);
  EXPECT_TRUE(store) << store.error().message;
  return std::move(*store);
}

/// One process: what is in memory is gone with it.
class PipeRun {
 public:
  PipeRun(const engine::Clock& clock, std::unique_ptr<OrderStore> store, Quarantine* quarantine)
      : kept_(std::move(store)),
        answerer_(shipped_rules(), usual_options().answers, clock, history_, metrics_,
                  {&kept_, quarantine}) {
    loaded_ = kept_.load(program_, 20514, history_).has_value();
    adapters::know_since(0, history_);
  }
  /// All answers.
  std::string run(const std::string& bytes, std::size_t piece = 1U << 20U) {
    return run(adapters::memory_bytes(bytes, piece));
  }
  std::string run(std::unique_ptr<engine::ByteSource> bytes) {
    std::string out;
    adapters::PipeEnds ends;
    ends.send = [&](std::string_view answers) {
      if (takes_answers) out += answers;
      return takes_answers;
    };
    ends.trouble = [this](std::string_view what) { troubles.emplace_back(what); };
    ends.missing = [this](std::string_view what) { missing.emplace_back(what); };
    MessagePipe pipe(answerer_, std::move(ends));
    done = loaded_ ? pipe.run(std::move(bytes))
                   : engine::Error{engine::Errc::Input, "not loaded", 0, 0};
    return out;
  }

  bool takes_answers = true;
  engine::Status done = engine::Done{};
  std::vector<std::string> troubles;
  std::vector<std::string> missing;

 private:
  std::shared_ptr<const engine::Program> program_ = shipped_rules().program;
  engine::History history_{program_->look_back, program_->history_fields,
                           program_->history_written};
  adapters::Metrics metrics_;
  KeptHistory kept_;
  adapters::Answerer answerer_;
  bool loaded_ = false;
};

class Piped : public ::testing::Test {
 public:
  [[nodiscard]] std::unique_ptr<PipeRun> start() {
    return std::make_unique<PipeRun>(clock, open_file(path), quarantine.get());
  }
  /// In a process of its own; bytes come in pieces of at most `piece`.
  std::string answers(const std::string& bytes, std::size_t piece = 1U << 20U) {
    const auto process = start();
    std::string out = process->run(bytes, piece);
    EXPECT_TRUE(process->done) << process->done.error().message;
    EXPECT_THAT(process->troubles, IsEmpty());
    return out;
  }
  [[nodiscard]] std::vector<std::string> numbers() const {
    std::vector<std::string> numbers;
    EXPECT_TRUE(open_file(path)->each(
        {}, [&](const adapters::KeptOrder& kept) { numbers.emplace_back(kept.order.number); }));
    std::sort(numbers.begin(), numbers.end());
    return numbers;
  }

  TestClock clock;
  TestFolder folder;
  std::string path = folder / "history.db";
  std::unique_ptr<Quarantine> quarantine = std::move(*Quarantine::open(folder / "quarantine"));
};

std::string at_another_time(std::string message) {
  message.replace(message.find("20260302"), 8, "20260303");
  return message;
}

TEST_F(Piped, EachIsAnsweredInItsFramingWhateverThePiecesAre) {
  const std::string bytes = frame(order("A-1")) + order("A-2") + "\r\n" + frame(order("A-3")) +
                            "BHS|^~\\&\r" + order("A-4") + order("A-5") + "BTS|2\r";
  const std::string whole = answers(bytes);
  EXPECT_TRUE(whole.starts_with("\x0BMSH|"));
  EXPECT_EQ(std::count(whole.begin(), whole.end(), '\x0B'), 2) << "two came in frames";
  EXPECT_EQ(std::count(whole.begin(), whole.end(), '\x1C'), 2);
  EXPECT_THAT(whole, HasSubstr("\x1C\rMSH|")) << "the one behind it did not";
  std::size_t at = 0;
  for (const char* const id : {"A-1", "A-2", "A-3", "A-4", "A-5"}) {
    at = whole.find("\rMSA|AA|" + std::string(id) + "\r", at);
    EXPECT_NE(at, std::string::npos) << id;
  }
  for (const std::size_t piece : {1U, 7U, 300U}) {
    EXPECT_EQ(answers(bytes, piece), whole) << "said again";
    path = folder / ("history-" + std::to_string(piece) + ".db");
    EXPECT_EQ(answers(bytes, piece), whole) << "judged";
  }
  EXPECT_THAT(numbers(), ElementsAre("A-1", "A-2", "A-3", "A-4", "A-5"));
}

TEST_F(Piped, WhatComesAgainAfterANewStartGetsTheSameAnswer) {
  const std::string first = answers(frame(order("A-1")) + frame(order("A-2", "9999")));
  EXPECT_THAT(first, HasSubstr("\rORC|OK|A-1"));
  EXPECT_THAT(first, HasSubstr("\rORC|UA|A-2"));
  clock.now = 2000;
  clock.day = 20515;  // it would be judged otherwise: its answer has another number, too
  answers(frame(order("A-3")));
  EXPECT_EQ(answers(frame(at_another_time(order("A-1"))) + frame(order("A-2", "9999"))), first);
  EXPECT_THAT(numbers(), ElementsAre("A-1", "A-2", "A-3"));
}

TEST_F(Piped, WhatComesAgainInAnotherFramingIsTheSame) {
  const std::string framed = answers(frame(order("A-1")));
  answers(order("A-2"));
  const std::string bare = answers(order("A-1") + "\r\n");
  EXPECT_EQ(frame(bare), framed);
}

TEST_F(Piped, AControlIdOfAnotherMessageIsRefusedUntilTheWindowIsOver) {
  answers(order("A-1"));
  const std::string other = answers(order("A-1", "16"));
  EXPECT_THAT(other, HasSubstr("\rMSA|AR|A-1\r"));
  EXPECT_THAT(other, HasSubstr("|205^Duplicate key identifier^HL70357|"));
  EXPECT_THAT(numbers(), ElementsAre("A-1"));
  clock.now = 1000 + 3601;
  EXPECT_THAT(answers(order("A-1", "16")), HasSubstr("\rMSA|AA|A-1\r"));
  EXPECT_THAT(numbers(), ElementsAre("A-1", "A-1")) << "judged and kept anew";
}

TEST_F(Piped, OutsideTheWindowItIsJudgedAnew) {
  const std::string first = answers(order("A-2") + order("A-1"));
  clock.now = 1000 + 3601;
  const std::string later = answers(order("A-1"));
  EXPECT_THAT(later, HasSubstr("\rMSA|AA|A-1\r"));
  EXPECT_THAT(first, Not(HasSubstr(later))) << "the answer is a new one: its number begins anew";
  const auto size = open_file(path)->size();
  ASSERT_TRUE(size);
  EXPECT_EQ(size->answers, 1U) << "those that are not given again are forgotten";
}

std::string bytes_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

TEST_F(Piped, WhatCannotBeReadGoesIntoQuarantineOnce) {
  const std::string cut = "\x0B" + order("A-9");
  const std::string no_version = "MSH|^~\\&|APP|FAC|RX|PH|20260302||RDE^O11|A-8|P|3\rPID|1\r";
  const std::string first = answers("hello\r" + order("A-1") + no_version + cut);
  EXPECT_THAT(first, HasSubstr("\rMSA|AR|A-8\r"));
  EXPECT_THAT(first, HasSubstr("\rMSA|AR|A-9\r"));
  EXPECT_THAT(first, HasSubstr("\rMSA|AA|A-1\r"));
  answers("hello\r" + cut);
  const auto held = quarantine->list();
  ASSERT_TRUE(held);
  ASSERT_EQ(held->size(), 3U);
  std::vector<std::string> why;
  for (const adapters::Quarantined& one : *held) {
    why.push_back(one.why.reason + " at " + one.why.at + ":" + std::to_string(one.why.line));
    struct stat status {};
    ASSERT_EQ(stat(quarantine->path(one.name).c_str(), &status), 0);
    EXPECT_EQ(status.st_mode & 07777U, 0600U);
  }
  EXPECT_THAT(
      why, ::testing::UnorderedElementsAre(
               HasSubstr("begins with no message header (MSH) at :1"), HasSubstr("at MSH-12.1:1"),
               HasSubstr("the frame was not closed: the message may be cut short at MSH-9:1")));
}

TEST_F(Piped, WhatBrokeOffIsStillCutInQuarantine) {
  const auto process = start();
  const std::string out = process->run(adapters::with_bytes_before(
      order("A-1"), adapters::broken_off({engine::Errc::Input, "the disk is gone", 0, 0})));
  EXPECT_TRUE(process->done);
  EXPECT_THAT(out, HasSubstr("\rMSA|AR|A-1\r"));
  EXPECT_TRUE(out.starts_with("MSH|")) << "it came without a frame";
  EXPECT_THAT(process->missing, ElementsAre("the input ended early: the disk is gone"));
  const auto held = quarantine->list();
  ASSERT_TRUE(held);
  ASSERT_EQ(held->size(), 1U);
  EXPECT_EQ(bytes_of(quarantine->path(held->front().name)), "\x0B" + order("A-1"))
      << "a frame without an end: who reads it again must not take it for whole";
}

TEST_F(Piped, TheEndOfAFrameWithoutABeginningCutsNoMessageInTwo) {
  std::string odd = order("A-1");
  odd.insert(odd.find("RXR|"), "NTE|1||odd\x1C\r");
  const std::string out = answers(odd);
  EXPECT_THAT(out, HasSubstr("\rMSA|AA|A-1\r"));
  EXPECT_THAT(out, Not(HasSubstr("MSA|AR"))) << "what follows is of the same message";
  EXPECT_EQ(answers(odd), out);
}

TEST_F(Piped, ATrailerThatCountsMoreThanCameIsSaid) {
  const auto process = start();
  const std::string out =
      process->run(order("A-0") + "FHS|^~\\&\rBHS|^~\\&\r" + order("A-1") + "BTS|2\rFTS|1\r");
  EXPECT_THAT(out, HasSubstr("\rMSA|AA|A-1\r")) << "A-0 is of no batch";
  EXPECT_THAT(process->missing, ElementsAre("the batch trailer (BTS-1) says 2, 1 were read: some "
                                            "may be lost"));
}

TEST_F(Piped, ATrailerThatDidNotComeIsSaid) {
  const auto process = start();
  process->run("FHS|^~\\&\rBHS|^~\\&\r" + order("A-1") + "BHS|^~\\&\r" + order("A-2"));
  EXPECT_THAT(process->missing,
              ElementsAre("the batch has no trailer (BTS): some of it may be lost",
                          "the batch (BTS) and the file (FTS) have no trailer: some of them may be "
                          "lost"));
}

TEST_F(Piped, AnAnswerThatNobodyTookIsSaidAgain) {
  {
    const auto process = start();
    process->takes_answers = false;
    process->run(frame(order("A-1")) + frame(order("A-2")));
    ASSERT_FALSE(process->done);
    EXPECT_EQ(process->done.error().message, "the answers could not be written");
  }
  EXPECT_THAT(answers(frame(order("A-2"))), HasSubstr("|20260302091400-2|"))
      << "the second answer of that process";
  EXPECT_THAT(numbers(), ElementsAre("A-1", "A-2"));
}

TEST_F(Piped, AQuarantineThatFailsIsSaidAndTheMessageRefused) {
  const auto process = start();
  std::filesystem::rename(folder / "quarantine", folder / "gone");
  EXPECT_THAT(process->run(frame("hello")), HasSubstr("\rMSA|AR|"));
  EXPECT_THAT(process->troubles, ElementsAre(HasSubstr("cannot be written")));
}

std::string four() {
  std::string text;
  for (const char* const id : {"A-1", "A-2", "A-3", "A-4"})
    text += frame(order(id));
  return text;
}

/// What was accepted is in the store; sent again after the store has healed, all are accepted and
/// there once.
void fail_at(int call, bool lasting, std::size_t piece, bool& failed) {
  const TestFolder folder;
  const TestClock clock;
  const std::string path = folder / "history.db";
  std::string before;
  bool is_whole = false;
  {
    auto store = std::make_unique<FailingStore>(open_file(path), call, lasting);
    const FailingStore& failing = *store;
    PipeRun process(clock, std::move(store), nullptr);
    before = process.run(adapters::memory_bytes(four(), piece));
    failed = failing.has_failed();
    const bool is_loaded = process.done || process.done.error().message != "not loaded";
    if (lasting) {
      EXPECT_EQ(failed, !process.done || !process.troubles.empty());
    } else {
      EXPECT_EQ(is_loaded, process.done.has_value()) << "it is tried once more";
    }
    is_whole = process.done.has_value();
  }
  EXPECT_THAT(before, Not(HasSubstr("MSA|AR")));
  std::vector<std::string> kept;
  EXPECT_TRUE(open_file(path)->each(
      {}, [&](const adapters::KeptOrder& order) { kept.emplace_back(order.order.number); }));
  for (const char* const id : {"A-1", "A-2", "A-3", "A-4"}) {
    if (has(before, "\rMSA|AA|" + std::string(id) + "\r")) {
      EXPECT_THAT(kept, ::testing::Contains(id));
    }
  }
  PipeRun process(clock, open_file(path), nullptr);
  const std::string again = process.run(four());
  EXPECT_TRUE(again.starts_with(before)) << "what was answered is answered the same";
  if (is_whole) {
    EXPECT_EQ(again, before);
  }
  for (const char* const id : {"A-1", "A-2", "A-3", "A-4"})
    EXPECT_THAT(again, HasSubstr("\rMSA|AA|" + std::string(id) + "\r"));
}

TEST(FailingPipes, NothingAcceptedIsLostWhicheverCallFails) {
  for (const std::size_t piece : {std::size_t{1} << 20U, order("A-1").size() + 3}) {
    for (const bool lasting : {true, false}) {
      int failures = 0;
      for (int call = 1; call <= 60; ++call) {
        SCOPED_TRACE("call " + std::to_string(call) + ", pieces of " + std::to_string(piece));
        bool failed = false;
        fail_at(call, lasting, piece, failed);
        failures += failed ? 1 : 0;
      }
      EXPECT_GE(failures, 15) << "the messages make that many calls";
    }
  }
}

}  // namespace
}  // namespace meniscus::testing
