// A service that judges the next turn while one is brought to the disk: what it answers, what it
// keeps when a commit fails or never ends, and what waits for it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <thread>
#include <vector>

#include "adapters/history/sqlite_store.hpp"
#include "adapters/history/write_behind_store.hpp"
#include "tests/adapters/history/failing_store.hpp"
#include "tests/adapters/history/gate_store.hpp"
#include "tests/adapters/service/service_run.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::testing {
namespace {

using adapters::KeptHistory;
using adapters::KeptOrder;
using adapters::OrderStore;
using adapters::SqliteStore;
using adapters::WriteBehindStore;

std::unique_ptr<OrderStore> open_file(const std::string& path) {
  auto store = SqliteStore::open(path);
  EXPECT_TRUE(store) << store.error().message;
  return std::move(*store);
}

adapters::ServiceOptions known_for_long() {
  adapters::ServiceOptions options = usual_options();
  options.history_since = 0;
  return options;
}

std::unique_ptr<ServiceRun> run_on(std::unique_ptr<OrderStore> store,
                                   adapters::LoadRules load = {}) {
  auto kept = std::make_unique<KeptHistory>(std::make_unique<WriteBehindStore>(std::move(store)));
  return std::make_unique<ServiceRun>(known_for_long(), std::move(load), shipped_rules(),
                                      std::move(kept));
}

/// Weekly injections of five patients on days of one month, so that what is said of one depends on
/// which came before it.
std::string order_of(int number) {
  const std::string id = "A-" + std::to_string(number);
  const int day = 1 + number * 11 % 28;
  const std::string date = std::string(day < 10 ? "2026030" : "202603") + std::to_string(day);
  return "MSH|^~\\&|APP|FAC|RX|PH|20260302||RDE^O11^RDE_O11|" + id + "|P|2.5.1\rPID|1||SM-000" +
         std::to_string(number % 5) + "||||19880402\rAL1|1||\"\"\rORC|NW|" + id +
         "\rRXE||testosterone-cypionate|50||mg||||||||||||||||||||200|mg|||||||1|mL\rTQ1|1||Q1W|||"
         "|" +
         date + "\rRXR|SC|LLAQ\r";
}

std::vector<std::string> numbers_in(const std::string& path) {
  std::vector<std::string> numbers;
  EXPECT_TRUE(open_file(path)->each(
      {}, [&](const KeptOrder& kept) { numbers.emplace_back(kept.order.number); }));
  return numbers;
}

/// Several clients, each of which sends its share of the messages in one piece.
class Clients {
 public:
  Clients(const ServiceRun& run, int count) {
    for (int i = 0; i < count; ++i)
      clients_.push_back(std::make_unique<Client>(run.endpoint));
  }
  /// Messages `from` to `end`, and what each was answered.
  std::vector<std::string> send(int from, int end) {
    const int share = (end - from) / static_cast<int>(clients_.size());
    for (std::size_t i = 0; i < clients_.size(); ++i) {
      std::string piece;
      for (int number = 0; number < share; ++number)
        piece += frame(order_of(from + static_cast<int>(i) * share + number));
      clients_[i]->send(piece);
    }
    std::vector<std::string> answers;
    for (const auto& client : clients_)
      for (int number = 0; number < share; ++number)
        answers.push_back(client->answer());
    return answers;
  }

 private:
  std::vector<std::unique_ptr<Client>> clients_;
};

TEST(Turns, AnswersAreThoseOfTheSequenceOfReceipt) {
  constexpr int kMessages = 160;
  const TestFolder folder;
  const std::string path = folder / "history.db";
  std::vector<std::string> answers;
  {
    const auto run = run_on(open_file(path));
    Clients clients(*run, 4);
    answers = clients.send(0, kMessages);
  }
  const std::vector<std::string> sequence = numbers_in(path);
  ASSERT_EQ(sequence.size(), static_cast<std::size_t>(kMessages));
  // One after the other, by a service without a store.
  ServiceRun alone(known_for_long());
  Client client(alone.endpoint);
  int already_active = 0;
  for (const std::string& number : sequence) {
    const int index = std::stoi(number.substr(2));
    client.send(frame(order_of(index)));
    const std::string answer = client.answer();
    EXPECT_EQ(answers[static_cast<std::size_t>(index)], answer) << number;
    already_active += has(answer, "|one-active-order^") ? 1 : 0;
  }
  EXPECT_GT(already_active, kMessages / 4);
  EXPECT_LT(already_active, kMessages) << "what is said of an order depends on those before it";
}

/// What was accepted is in the store once, and what was refused is not; sent again after the store
/// has healed, all are there once, and what was accepted is answered as before.
void fail_at(int call, bool lasting, bool& failed) {
  constexpr int kMessages = 24;
  const TestFolder folder;
  const std::string path = folder / "history.db";
  std::vector<std::string> expected;
  {
    auto failing = std::make_unique<FailingStore>(open_file(path), call, lasting);
    FailingStore* const store = failing.get();
    const auto run = run_on(std::move(failing));
    Clients clients(*run, 3);
    const std::vector<std::string> answers = clients.send(0, kMessages);
    failed = store->has_failed();
    store->heal();
    const std::vector<std::string> again = clients.send(0, kMessages);
    for (std::size_t i = 0; i < answers.size(); ++i) {
      expected.push_back("A-" + std::to_string(i));
      const bool kept = !has(answers[i], "could not be kept");
      EXPECT_EQ(kept, !has(answers[i], "\rMSA|AR|")) << answers[i];
      EXPECT_FALSE(has(again[i], "\rMSA|AR|")) << again[i];
      if (kept) {
        EXPECT_EQ(again[i], answers[i]);
      }
    }
  }
  std::vector<std::string> numbers = numbers_in(path);
  std::ranges::sort(numbers);
  std::ranges::sort(expected);
  EXPECT_EQ(numbers, expected);
}

TEST(Turns, NothingAnsweredIsLostOrThereTwiceWhicheverCallFails) {
  int failures = 0;
  for (int call = 1; call <= 60; ++call) {
    SCOPED_TRACE("call " + std::to_string(call));
    bool failed = false;
    fail_at(call, call % 2 == 0, failed);
    failures += failed ? 1 : 0;
  }
  EXPECT_GE(failures, 40) << "the messages make that many calls";
}

/// A service whose commits wait for the test.
class AtTheGate : public ::testing::Test {
 public:
  AtTheGate() {
    auto gated = std::make_unique<GateStore>(open_file(folder_ / "history.db"));
    gate = gated.get();
    run = run_on(std::move(gated), [] { return std::optional(shipped_rules()); });
  }
  /// Two orders are on their way to the disk, and the gate is shut.
  void begin(Clients& clients) {
    for (const std::string& answer : clients.send(0, 2))  // the first turns say since when
      EXPECT_TRUE(has(answer, "\rMSA|AA|")) << answer;
    gate->shut();
    client = std::make_unique<Client>(run->endpoint);
    client->send(frame(order_of(2)) + frame(order_of(3)));
    gate->wait_for_commit();
  }
  [[nodiscard]] std::string why_not_ready() const {
    return run->on_its_thread([](adapters::Service& service) { return service.why_not_ready(); });
  }

  GateStore* gate = nullptr;
  std::unique_ptr<ServiceRun> run;
  std::unique_ptr<Client> client;

 private:
  TestFolder folder_;
};

TEST_F(AtTheGate, OthersAreJudgedMeanwhileAndAnsweredInTheirTurn) {
  Clients clients(*run, 1);
  begin(clients);
  Client other(run->endpoint);
  other.send(frame(order_of(5)));
  const auto judged = [&] {
    const auto metrics = [](adapters::Service& service) { return service.metrics(); };
    return has(run->on_its_thread(metrics), "meniscus_history_records 5\n");
  };
  while (!judged())
    std::this_thread::yield();
  EXPECT_EQ(run->on_its_thread(
                [](adapters::Service& service) { return std::to_string(service.answered()); }),
            "2")
      << "nothing leaves before it is kept";
  gate->open();
  EXPECT_TRUE(has(client->answer(), "\rMSA|AA|A-2\r"));
  EXPECT_TRUE(has(client->answer(), "\rMSA|AA|A-3\r"));
  EXPECT_TRUE(has(other.answer(), "\rMSA|AA|A-5\r"));
}

TEST_F(AtTheGate, ACommitThatDoesNotEndIsNoStoreToRelyOn) {
  Clients clients(*run, 1);
  begin(clients);
  EXPECT_EQ(why_not_ready(), "");
  run->clock.now = run->clock.now + 6;
  EXPECT_EQ(why_not_ready(), "the history cannot be reached; every order is refused");
  gate->open();
  EXPECT_TRUE(has(client->answer(), "\rMSA|AA|A-2\r"));
  EXPECT_TRUE(has(client->answer(), "\rMSA|AA|A-3\r"));
  run->clock.now = run->clock.now + 6;
  EXPECT_EQ(why_not_ready(), "");
}

TEST_F(AtTheGate, ACommitThatFailsAfterOthersWereJudgedLosesNone) {
  Clients clients(*run, 1);
  begin(clients);
  Client other(run->endpoint);
  other.send(frame(order_of(5)) + frame(order_of(10)));
  gate->open_and_fail();
  EXPECT_TRUE(has(client->answer(), "\rMSA|AR|A-2\r"));
  EXPECT_TRUE(has(client->answer(), "\rMSA|AR|A-3\r"));
  EXPECT_TRUE(has(other.answer(), "\rMSA|AR|A-5\r"));
  EXPECT_TRUE(has(other.answer(), "\rMSA|AR|A-10\r"));
  gate->open();
  other.send(frame(order_of(7)));  // a day from A-2, of the same patient
  EXPECT_TRUE(has(other.answer(), "\rMSA|AA|A-7\r")) << "it is the patient's first order";
}

TEST_F(AtTheGate, AMessageThatComesAgainMeanwhileWaitsForItsAnswer) {
  Clients clients(*run, 1);
  begin(clients);
  Client other(run->endpoint);
  other.send(frame(order_of(2)));
  const auto said_again = [&] {
    const auto metrics = [](adapters::Service& service) { return service.metrics(); };
    return has(run->on_its_thread(metrics), "meniscus_repeats_total 1\n");
  };
  while (!said_again())
    std::this_thread::yield();
  gate->open_and_fail();
  EXPECT_TRUE(has(other.answer(), "\rMSA|AR|A-2\r")) << "it was accepted by nobody";
  EXPECT_TRUE(has(client->answer(), "\rMSA|AR|A-2\r"));
}

TEST_F(AtTheGate, ANewDaysRulesAndAStopWaitForIt) {
  Clients clients(*run, 1);
  begin(clients);
  run->on_its_thread([](adapters::Service& service) {
    service.reload();
    return std::string();
  });
  gate->open();
  EXPECT_TRUE(has(client->answer(), "\rMSA|AA|A-2\r"));
  EXPECT_TRUE(has(client->answer(), "\rMSA|AA|A-3\r"));
  run->wait_for("in force: ");
  gate->shut();
  client->send(frame(order_of(5)) + frame(order_of(6)));
  gate->wait_for_commit();
  std::thread opener([this] { gate->open(); });
  run->stop();
  opener.join();
  EXPECT_FALSE(client->answer().empty());
  EXPECT_FALSE(client->answer().empty());
  EXPECT_TRUE(has(run->log(), "stopped; messages answered: 6"));
}

}  // namespace
}  // namespace meniscus::testing
