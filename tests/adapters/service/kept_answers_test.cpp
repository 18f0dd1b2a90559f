// Answers with a store behind them: messages that come again, messages that cannot be read,
// patients that are merged, and a store that fails at each of its calls in turn.
//
// Source: HL7 table 0357: 205 duplicate key identifier, 207 application internal error (v2.5.1,
// 2.17.1 of the tables in appendix A; the numbers from memory).
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <string>
#include <vector>

#include "adapters/history/sqlite_store.hpp"
#include "adapters/service/answerer.hpp"
#include "tests/adapters/history/failing_store.hpp"
#include "tests/adapters/service/service_run.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::testing {
namespace {

using adapters::Answerer;
using adapters::KeptHistory;
using adapters::OrderStore;
using adapters::Quarantine;
using adapters::mllp::FrameKind;
using ::testing::HasSubstr;
using ::testing::Not;

std::unique_ptr<OrderStore> open_file(const std::string& path) {
  auto store = adapters::SqliteStore::open(path);
  EXPECT_TRUE(store) << store.error().message;
  return std::move(*store);
}

class KeptAnswers : public ::testing::Test {
 public:
  KeptAnswers() {
    EXPECT_TRUE(kept_.load(program_, 20514, history_));
    adapters::know_since(0, history_);
  }
  std::string answer(const std::string& bytes, FrameKind kind = FrameKind::Whole) {
    std::string out;
    const adapters::Asked asked{{kind, bytes}, &out};
    EXPECT_TRUE(answerer_.take_turn({&asked, 1}));
    return out;
  }
  std::uint64_t orders() {
    const auto size = store_->size();
    return size ? size->orders : 0;
  }
  std::string metrics() const { return metrics_.text({}); }

  TestClock clock;
  TestFolder folder;
  std::unique_ptr<Quarantine> quarantine = std::move(*Quarantine::open(folder / "quarantine"));

 private:
  std::shared_ptr<const engine::Program> program_ = shipped_rules().program;
  engine::History history_{program_->look_back, program_->history_fields,
                           program_->history_written};
  adapters::Metrics metrics_;
  OrderStore* store_ = nullptr;
  KeptHistory kept_{[this] {
    auto store = open_file(folder / "history.db");
    store_ = store.get();
    return store;
  }()};
  Answerer answerer_{shipped_rules(), usual_options().answers,   clock, history_,
                     metrics_,        {&kept_, quarantine.get()}};
};

TEST_F(KeptAnswers, AMessageThatComesAgainGetsTheSameAnswer) {
  const std::string first = answer(frame(order("A-1")));
  EXPECT_THAT(first, HasSubstr("\rMSA|AA|A-1\r"));
  answer(frame(order("A-2")));
  clock.now = 2000;
  std::string again = frame(order("A-1"));
  again.replace(again.find("20260302"), 8, "20260303");  // its time is another
  EXPECT_EQ(answer(again), first);
  EXPECT_EQ(orders(), 2U);
  EXPECT_THAT(metrics(), HasSubstr("meniscus_repeats_total 1\n"));
}

TEST_F(KeptAnswers, AControlIdOfAnotherMessageIsRefused) {
  answer(frame(order("A-1")));
  const std::string other = answer(frame(order("A-1", "16")));
  EXPECT_THAT(other, HasSubstr("\rMSA|AR|A-1\r"));
  EXPECT_THAT(other, HasSubstr("|205^Duplicate key identifier^HL70357|"));
  EXPECT_EQ(orders(), 1U);
  clock.now = 1000 + 3601;
  EXPECT_THAT(answer(frame(order("A-1", "16"))), HasSubstr("\rMSA|AA|A-1\r"))
      << "the window is over: senders count anew";
  EXPECT_EQ(orders(), 2U);
}

TEST_F(KeptAnswers, WhatCouldNotBeReadIsReadAgain) {
  const std::string half = "\x0B" + order("A-1");
  EXPECT_THAT(answer(half, FrameKind::Cut), HasSubstr("\rMSA|AR|A-1\r"));
  EXPECT_THAT(answer(frame(order("A-1"))), HasSubstr("\rMSA|AA|A-1\r"));
}

TEST_F(KeptAnswers, WhatCannotBeReadGoesIntoQuarantineOnce) {
  answer(frame("hello"));
  answer(frame("hello"));
  answer("\x0B" + order("A-1"), FrameKind::Cut);
  answer(frame(order("A-2")));
  const auto held = quarantine->list();
  ASSERT_TRUE(held);
  ASSERT_EQ(held->size(), 2U);
  std::vector<std::string> reasons;
  reasons.reserve(held->size());
  for (const adapters::Quarantined& one : *held)
    reasons.push_back(one.why.reason);
  EXPECT_THAT(reasons,
              ::testing::UnorderedElementsAre("the text begins with no message header (MSH)",
                                              "the frame was not closed: the message may be cut "
                                              "short"));
}

/// How many answers stay of one that is 3601 seconds old.
std::uint64_t answers_left(double window) {
  const TestFolder folder;
  TestClock clock;
  auto opened = open_file(folder / "history.db");
  OrderStore& store = *opened;
  KeptHistory kept(std::move(opened));
  const std::shared_ptr<const engine::Program> program = shipped_rules().program;
  engine::History history(program->look_back, program->history_fields, program->history_written);
  EXPECT_TRUE(kept.load(program, clock.today(), history));
  adapters::Metrics metrics;
  adapters::AnswerOptions options = usual_options().answers;
  const auto answerer = [&] {
    return std::make_unique<Answerer>(shipped_rules(), options, clock, history, metrics,
                                      adapters::AnswerStores{&kept, nullptr});
  };
  std::string out;
  const std::string message = frame(order("A-1"));
  const adapters::Asked asked{{FrameKind::Whole, message}, &out};
  EXPECT_TRUE(answerer()->take_turn({&asked, 1}));
  clock.now = clock.now + 3601;
  options.resend_window = window;
  EXPECT_TRUE(answerer()->drop_old_answers());
  const auto size = store.size();
  return size ? size->answers : 99;
}

TEST(OldAnswers, AreDroppedAfterTheWindowAndLeftToOthersWithoutOne) {
  EXPECT_EQ(answers_left(3600), 0U);
  EXPECT_EQ(answers_left(3602), 1U);
  EXPECT_EQ(answers_left(0), 1U) << "another program may share the store";
}

/// A weekly injection.
std::string weekly(const std::string& id, const std::string& patient, const std::string& day) {
  return frame("MSH|^~\\&|APP|FAC|RX|PH|" + day + "||RDE^O11^RDE_O11|" + id + "|P|2.5.1\rPID|1||" +
               patient + "||||19880402\rAL1|1||\"\"\rORC|NW|" + id +
               "\rRXE||testosterone-cypionate|50||mg||||||||||||||||||||200|mg|||||||1|mL\r" +
               "TQ1|1||Q1W||||" + day + "\rRXR|SC|LLAQ\r");
}

TEST_F(KeptAnswers, AMergedPatientHasTheOrdersOfBoth) {
  answer(weekly("A-1", "SM-0012", "20260302"));
  const std::string merge = answer(
      frame("MSH|^~\\&|ADT|FAC|RX|PH|20260302||ADT^A40^ADT_A39|M-1|P|2.5.1\rEVN|A40|20260302\r"
            "PID|1||SM-0099\rMRG|SM-0012\r"));
  EXPECT_THAT(merge, HasSubstr("|ACK^A40^ACK|"));
  EXPECT_THAT(merge, HasSubstr("\rMSA|AA|M-1\r"));
  EXPECT_THAT(merge, Not(HasSubstr("ORC|")));
  constexpr std::string_view kRule = "|one-active-order^";
  EXPECT_THAT(answer(weekly("A-2", "SM-0099", "20260304")), HasSubstr(std::string(kRule)));
  EXPECT_THAT(answer(weekly("A-3", "SM-0012", "20260306")), HasSubstr(std::string(kRule)))
      << "an order that still names the former id is of the same person";
  EXPECT_THAT(answer(weekly("A-4", "SM-0055", "20260304")), Not(HasSubstr(std::string(kRule))));
}

/// A service over a store that fails, and what its clients were answered.
class FailingService {
 public:
  FailingService(const std::string& path, int fails_at, bool lasting) {
    auto store = std::make_unique<FailingStore>(open_file(path), fails_at, lasting);
    store_ = store.get();
    adapters::ServiceOptions options = usual_options();
    options.history_since = 0;
    run_ = std::make_unique<ServiceRun>(options, adapters::LoadRules{}, shipped_rules(),
                                        std::make_unique<KeptHistory>(std::move(store)));
  }
  /// The answers to messages that are sent at once over connections of their own.
  std::vector<std::string> send(const std::vector<std::string>& messages) {
    std::vector<std::unique_ptr<Client>> clients;
    for (const std::string& message : messages) {
      clients.push_back(std::make_unique<Client>(run_->endpoint));
      clients.back()->send(message);
    }
    std::vector<std::string> answers;
    answers.reserve(clients.size());
    for (const auto& client : clients)
      answers.push_back(client->answer());
    return answers;
  }
  /// On the service's own thread: it uses the store.
  void heal() {
    run_->on_its_thread([this](adapters::Service&) {
      store_->heal();
      return std::string();
    });
  }
  bool has_failed() {
    return run_->on_its_thread([this](adapters::Service&) {
      return std::string(store_->has_failed() ? "yes" : "");
    }) == "yes";
  }
  /// And closes the store.
  void stop() { run_.reset(); }

 private:
  FailingStore* store_ = nullptr;
  std::unique_ptr<ServiceRun> run_;
};

std::vector<std::string> numbers_in(const std::string& path) {
  std::vector<std::string> numbers;
  EXPECT_TRUE(open_file(path)->each(
      {}, [&](const adapters::KeptOrder& kept) { numbers.emplace_back(kept.order.number); }));
  std::sort(numbers.begin(), numbers.end());
  return numbers;
}

const std::vector<std::string>& some_messages() {
  static const std::vector<std::string> kMessages = [] {
    std::vector<std::string> messages;
    for (const char* const id : {"A-1", "A-2", "A-3", "A-4"}) {
      std::string text = order(id);
      text.replace(text.find("SM-0012"), 7, "SM-00" + std::string(id).substr(2) + "1");
      messages.push_back(frame(text));
    }
    return messages;
  }();
  return kMessages;
}

bool is_accepted(const std::string& answer) { return has(answer, "\rMSA|AA|"); }

/// What was accepted is in the store once, and what was refused is not; sent again after the store
/// has healed, all are accepted and there once.
void fail_at(int call, bool lasting, bool& failed) {
  const TestFolder folder;
  const std::string path = folder / "history.db";
  FailingService service(path, call, lasting);
  const std::vector<std::string> answers = service.send(some_messages());
  failed = service.has_failed();
  std::vector<std::string> accepted;
  for (std::size_t i = 0; i < answers.size(); ++i) {
    const std::string id = "A-" + std::to_string(i + 1);
    if (is_accepted(answers[i])) accepted.push_back(id);
    EXPECT_TRUE(has(answers[i], "\rMSA|AA|") || has(answers[i], "\rMSA|AR|")) << answers[i];
  }
  service.heal();
  const std::vector<std::string> again = service.send(some_messages());
  for (std::size_t i = 0; i < again.size(); ++i) {
    EXPECT_TRUE(is_accepted(again[i])) << again[i];
    if (is_accepted(answers[i])) {
      EXPECT_EQ(again[i], answers[i]);
    }
  }
  service.stop();
  EXPECT_THAT(numbers_in(path), ::testing::ElementsAre("A-1", "A-2", "A-3", "A-4"));
}

TEST(FailingStores, NothingAcceptedIsLostOrThereTwiceWhicheverCallFails) {
  int failures = 0;
  for (int call = 1; call <= 60; ++call) {
    SCOPED_TRACE("call " + std::to_string(call));
    bool failed = false;
    fail_at(call, false, failed);
    failures += failed ? 1 : 0;
  }
  EXPECT_GE(failures, 20) << "the messages make that many calls";
}

TEST(FailingStores, NothingIsAcceptedWhileTheStoreIsGone) {
  for (int call = 1; call <= 12; ++call) {
    SCOPED_TRACE("call " + std::to_string(call));
    bool failed = false;
    fail_at(call, true, failed);
    EXPECT_TRUE(failed);
  }
}

}  // namespace
}  // namespace meniscus::testing
