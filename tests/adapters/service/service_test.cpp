// The service over sockets of this machine: order, limits, refusals, time, and a stop.
#include "adapters/service/service.hpp"

#include <gtest/gtest.h>

#include <atomic>
#include <filesystem>
#include <fstream>
#include <optional>
#include <vector>

#include "adapters/service/status_server.hpp"
#include "tests/adapters/history/failing_store.hpp"
#include "tests/adapters/history/store_in_front.hpp"
#include "tests/adapters/service/service_run.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::testing {
namespace {

using std::chrono::milliseconds;

TEST(Service, AnswersOneMessageAfterTheOther) {
  ServiceRun run(usual_options());
  Client client(run.endpoint);
  for (const char* id : {"A-1", "A-2", "A-3"}) {
    client.send(frame(order(id)));
    EXPECT_TRUE(has(client.answer(), std::string("MSA|AA|") + id + "\r"));
  }
}

TEST(Service, ManyMessagesInOnePieceAreAnsweredInOrder) {
  ServiceRun run(usual_options());
  Client client(run.endpoint);
  std::string all;
  for (int i = 0; i < 300; ++i)
    all += frame(order("A-" + std::to_string(i)));
  client.send(all);
  for (int i = 0; i < 300; ++i)
    EXPECT_TRUE(has(client.answer(), "MSA|AA|A-" + std::to_string(i) + "\r"));
}

/// Counts what comes and goes in one piece.
class CountingChannel final : public adapters::mllp::Channel {
 public:
  CountingChannel(Socket socket, std::atomic<int>& pieces, std::atomic<int>& writes)
      : inner_(adapters::mllp::plain_channel(std::move(socket))),
        pieces_(pieces),
        writes_(writes) {}
  void start(Started started) override { inner_->start(std::move(started)); }
  void read(std::span<char> into, Done done) override {
    inner_->read(into, [this, done = std::move(done)](const Error& problem, std::size_t count) {
      if (!problem) ++pieces_;
      done(problem, count);
    });
  }
  void write(std::string_view bytes, Done done) override {
    ++writes_;
    inner_->write(bytes, std::move(done));
  }
  Socket& socket() override { return inner_->socket(); }

 private:
  std::unique_ptr<Channel> inner_;
  std::atomic<int>& pieces_;
  std::atomic<int>& writes_;
};

TEST(Service, AnswersToWhatCameInOnePieceLeaveInOnePiece) {
  std::atomic<int> pieces = 0;
  std::atomic<int> writes = 0;
  adapters::ServiceOptions options = usual_options();
  options.make_channel = [&](adapters::mllp::Channel::Socket socket) {
    return std::make_unique<CountingChannel>(std::move(socket), pieces, writes);
  };
  ServiceRun run(options);
  Client client(run.endpoint);
  std::string all;
  for (int i = 0; i < 10; ++i)
    all += frame(order("A-" + std::to_string(i)));
  for (int round = 0; round < 20; ++round) {
    client.send(all);
    for (int i = 0; i < 10; ++i)
      EXPECT_TRUE(has(client.answer(), "MSA|AA|A-" + std::to_string(i) + "\r"));
  }
  EXPECT_LE(writes, pieces);
  EXPECT_LT(pieces, 200) << "every message came by itself: nothing was tested";
}

TEST(Service, FewPlacesServeWhoSendsManyAtATimeAndOthersBesideIt) {
  for (const std::size_t places : {1, 2, 20}) {
    adapters::ServiceOptions options = usual_options();
    options.limits.in_work = places;
    ServiceRun run(options);
    Client many(run.endpoint);
    std::vector<std::unique_ptr<Client>> others;
    others.reserve(5);
    for (int i = 0; i < 5; ++i)
      others.push_back(std::make_unique<Client>(run.endpoint));
    std::string all;
    for (int i = 0; i < 200; ++i)
      all += frame(order("M-" + std::to_string(i)));
    many.send(all);
    for (int round = 0; round < 10; ++round) {
      for (const auto& other : others)
        other->send(frame(order("A-1")));
      for (const auto& other : others)
        EXPECT_TRUE(has(other->answer(), "MSA|AA|A-1\r"));
    }
    for (int i = 0; i < 200; ++i)
      EXPECT_TRUE(has(many.answer(), "MSA|AA|M-" + std::to_string(i) + "\r"));
  }
}

TEST(Service, OneMessageMayComeByteByByte) {
  ServiceRun run(usual_options());
  Client client(run.endpoint);
  for (const char byte : frame(order("A-1")))
    client.send({&byte, 1});
  EXPECT_TRUE(has(client.answer(), "MSA|AA|A-1\r"));
}

TEST(Service, ABadMessageIsRefusedAndTheConnectionGoesOn) {
  ServiceRun run(usual_options());
  Client client(run.endpoint);
  client.send("noise" + frame("no message") + frame(order("A-1")));
  EXPECT_TRUE(has(client.answer(), "MSA|AR|"));
  EXPECT_TRUE(has(client.answer(), "MSA|AA|A-1\r"));
  run.wait_for("bytes outside of frames");
}

TEST(Service, ATooLargeMessageIsRefusedAndTheConnectionGoesOn) {
  adapters::ServiceOptions options = usual_options();
  options.limits.largest = 8192;
  ServiceRun run(options);
  Client client(run.endpoint);
  std::string large = order("A-1");
  large += "NTE|1||" + std::string(100'000, 'x') + "\r";
  client.send(frame(large) + frame(order("A-2")));
  EXPECT_TRUE(has(client.answer(), "MSA|AR|A-1\r"));
  EXPECT_TRUE(has(client.answer(), "MSA|AA|A-2\r"));
}

TEST(Service, HalfAMessageIsRefusedWhenThePeerEnds) {
  ServiceRun run(usual_options());
  Client client(run.endpoint);
  client.send("\x0B" + order("A-1"));
  client.socket().shutdown(asio::ip::tcp::socket::shutdown_send);
  EXPECT_TRUE(has(client.answer(), "MSA|AR|A-1\r"));
  EXPECT_TRUE(client.is_closed());
}

TEST(Service, ASenderThatLeavesOutTheLastByteIsAnswered) {
  adapters::ServiceOptions options = usual_options();
  options.limits.last_byte = milliseconds(20);
  ServiceRun run(options);
  Client client(run.endpoint);
  client.send("\x0B" + order("A-1") + "\x1C");
  EXPECT_TRUE(has(client.answer(), "MSA|AA|A-1\r"));
  client.send("\r" + frame(order("A-2")));
  EXPECT_TRUE(has(client.answer(), "MSA|AA|A-2\r"));
  EXPECT_TRUE(has(run.log(), "without the byte CR"));
}

TEST(Service, ASlowMessageAndAnIdleConnectionAreClosed) {
  adapters::ServiceOptions options = usual_options();
  options.limits.message = milliseconds(30);
  options.limits.idle = milliseconds(60);
  ServiceRun run(options);
  Client idle(run.endpoint);
  Client slow(run.endpoint);
  slow.send("\x0BMSH|");
  EXPECT_TRUE(slow.is_closed());
  EXPECT_TRUE(idle.is_closed());
  run.wait_for("begun and not ended in time");
  run.wait_for("no message for the idle time");
}

TEST(Service, MoreConnectionsThanAllowedWaitAndAreNotDropped) {
  adapters::ServiceOptions options = usual_options();
  options.limits.connections = 2;
  ServiceRun run(options);
  auto first = std::make_unique<Client>(run.endpoint);
  Client second(run.endpoint);
  Client third(run.endpoint);  // in the system's queue
  third.send(frame(order("A-3")));
  second.send(frame(order("A-2")));
  EXPECT_TRUE(has(second.answer(), "MSA|AA|A-2\r"));
  run.wait_for("new ones wait");
  EXPECT_FALSE(has(run.log(), "connection 3"));
  first.reset();
  EXPECT_TRUE(has(third.answer(), "MSA|AA|A-3\r"));
}

TEST(Service, OneMessageInWorkIsEnoughForManyConnections) {
  adapters::ServiceOptions options = usual_options();
  options.limits.in_work = 1;
  ServiceRun run(options);
  std::vector<std::unique_ptr<Client>> clients;
  clients.reserve(20);
  for (int i = 0; i < 20; ++i)
    clients.push_back(std::make_unique<Client>(run.endpoint));
  for (int round = 0; round < 20; ++round) {
    const std::string id = "A-" + std::to_string(round) + "-";
    for (int i = 0; i < 20; ++i)
      clients[i]->send(frame(order(id + std::to_string(i))));
    for (int i = 0; i < 20; ++i)
      EXPECT_TRUE(has(clients[i]->answer(), "MSA|AA|" + id + std::to_string(i) + "\r"));
  }
}

TEST(Service, AStopAnswersWhatWasReceived) {
  ServiceRun run(usual_options());
  Client busy(run.endpoint);
  Client idle(run.endpoint);
  Client half(run.endpoint);
  std::string all;
  for (int i = 0; i < 20; ++i)
    all += frame(order("A-" + std::to_string(i)));
  busy.send(all);
  half.send("\x0BMSH|^~\\&|half");
  EXPECT_TRUE(has(busy.answer(), "MSA|AA|A-0\r"));
  // Up to here all of it was read: twenty orders fit into what is read at a time.
  run.stop();
  int answers = 1;
  while (!busy.answer().empty())
    ++answers;
  EXPECT_EQ(static_cast<std::uint64_t>(answers), run.service().answered());
  EXPECT_EQ(answers, 20);
  EXPECT_TRUE(idle.is_closed());
  EXPECT_TRUE(half.is_closed());
  EXPECT_TRUE(has(run.log(), "stopped; messages answered: 20"));
}

TEST(Service, APatientsOrdersAreInSequenceOverConnections) {
  ServiceRun run(usual_options());
  Client one(run.endpoint);
  Client other(run.endpoint);
  one.send(frame(order("A-1")));
  EXPECT_TRUE(has(one.answer(), "MSA|AA|A-1\r"));
  other.send(frame(order("A-2")));
  EXPECT_TRUE(has(other.answer(), "MSA|AA|A-2\r"));
  run.stop();
  EXPECT_EQ(run.service().history().records(), 2U);
  EXPECT_EQ(run.service().history().patients(), 1U);
}

TEST(Service, NoLogLineHoldsAByteOfAMessage) {
  ServiceRun run(usual_options());
  Client client(run.endpoint);
  const std::string mark = "ZQMARK";
  std::string marked = order(mark);
  marked.replace(marked.find("SM-0012"), 7, mark + "|||" + mark);
  client.send(mark + frame(marked) + frame(mark) + "\x0B" + marked);
  client.socket().shutdown(asio::ip::tcp::socket::shutdown_send);
  EXPECT_TRUE(has(client.answer(), mark));
  EXPECT_TRUE(has(client.answer(), "MSA|AR"));
  EXPECT_TRUE(has(client.answer(), "MSA|AR"));
  EXPECT_TRUE(client.is_closed());
  run.stop();
  EXPECT_FALSE(has(run.log(), mark));
  EXPECT_TRUE(has(run.log(), "a message of"));
}

/// A rule set that looks back on nothing, or on more than the shipped rules do.
std::string rules_folder(const std::string& name, const std::string& text) {
  std::string folder = std::string(MENISCUS_BINARY_DIR) + "/service-" + name;
  std::filesystem::create_directories(folder);
  std::ofstream(folder + "/one.rule") << text;
  return folder;
}

constexpr const char* kAlwaysNote =
    "rule always \"Always\"\n    concerns all orders\n    raise note when dose > 1 mg\n"
    "        say \"{dose}.\"\n        blames dose\n    without dose ignore\n";

TEST(Service, NewRulesComeIntoForceBetweenTwoMessages) {
  ServiceRun run(usual_options(), [] { return rules_of(rules_folder("note", kAlwaysNote)); });
  Client client(run.endpoint);
  client.send(frame(order("A-1")));
  EXPECT_FALSE(has(client.answer(), "always^Always"));
  run.on_its_thread([](adapters::Service& service) {
    service.reload();
    return std::string();
  });
  run.wait_for("in force: 1 rules");
  client.send(frame(order("A-2")));
  EXPECT_TRUE(has(client.answer(), "always^Always"));
  const std::string metrics = run.on_its_thread([](auto& service) { return service.metrics(); });
  EXPECT_TRUE(has(metrics, "meniscus_rule_reloads_total{result=\"accepted\"} 1\n"));
  // What the shipped rules look back on is kept on for when they come back.
  EXPECT_TRUE(has(metrics, "meniscus_history_records 2\n"));
}

TEST(Service, RulesThatLookBackFurtherAreRefused) {
  // The history of a run that began with them would hold what the shipped ones look back on.
  const std::string folder = rules_folder("plain", kAlwaysNote);
  ServiceRun run(
      usual_options(), [] { return std::optional(shipped_rules()); }, rules_of(folder));
  Client client(run.endpoint);
  run.on_its_thread([](adapters::Service& service) {
    service.reload();
    return std::string();
  });
  run.wait_for("look back on more than the service has kept");
  client.send(frame(order("A-1")));
  EXPECT_TRUE(has(client.answer(), "always^Always"));
}

TEST(Service, RulesWithMistakesAreRefusedAndTheFormerStay) {
  ServiceRun run(usual_options(), [] { return std::optional<adapters::RulesInForce>(); });
  Client client(run.endpoint);
  run.on_its_thread([](adapters::Service& service) {
    service.reload();
    return std::string();
  });
  run.wait_for("those that were in force stay");
  client.send(frame(order("A-1", "9999")));
  EXPECT_TRUE(has(client.answer(), "\rORC|UA|A-1|"));
  const std::string metrics = run.on_its_thread([](auto& service) { return service.metrics(); });
  EXPECT_TRUE(has(metrics, "meniscus_rule_reloads_total{result=\"refused\"} 1\n"));
  EXPECT_TRUE(has(metrics, shipped_rules().program->hash));
}

TEST(Service, AMessageOfANewDayWaitsForTheRulesOfThatDay) {
  std::atomic<bool> fails = false;
  ServiceRun* service = nullptr;
  ServiceRun run(usual_options(), [&]() -> std::optional<adapters::RulesInForce> {
    if (fails) return std::nullopt;
    adapters::RulesInForce rules = rules_of(rules_folder("day", kAlwaysNote));
    rules.day = service->clock.day;
    return rules;
  });
  service = &run;
  Client client(run.endpoint);
  client.send(frame(order("A-1")));
  EXPECT_FALSE(has(client.answer(), "always^Always"));
  run.clock.day = 20515;
  client.send(frame(order("A-2")));
  EXPECT_TRUE(has(client.answer(), "always^Always"));
  const auto why = [](auto& asked) { return asked.why_not_ready(); };
  EXPECT_EQ(run.on_its_thread(why), "");
  fails = true;
  run.clock.day = 20516;
  client.send(frame(order("A-3")));
  EXPECT_TRUE(has(client.answer(), "MSA|AA|A-3\r"));  // by the rules of yesterday, and said:
  EXPECT_EQ(run.on_its_thread(why),
            "the rules of today could not be loaded; earlier ones are in force");
}

TEST(Service, IsNotReadyWhileTheStoreIsAway) {
  const TestFolder folder;
  auto opened = adapters::open_store("sqlite:" + (folder / "history.db"));
  ASSERT_TRUE(opened);
  auto failing = std::make_unique<FailingStore>(std::move(*opened), 0, true);
  FailingStore& store = *failing;
  ServiceRun run(usual_options(), {}, shipped_rules(),
                 std::make_unique<adapters::KeptHistory>(std::move(failing)));
  const auto why = [&] {
    return run.on_its_thread([](adapters::Service& service) { return service.why_not_ready(); });
  };
  EXPECT_EQ(why(), "");
  run.on_its_thread([&](adapters::Service&) {
    store.fail_from_now_on();
    return std::string();
  });
  EXPECT_EQ(why(), "") << "it is asked once a second";
  run.clock.now = run.clock.now + 1;
  EXPECT_EQ(why(), "the history cannot be reached; every order is refused");
  Client client(run.endpoint);
  client.send(frame(order("A-1")));
  EXPECT_TRUE(has(client.answer(), "MSA|AR|A-1\r"));
  run.on_its_thread([&](adapters::Service&) {
    store.heal();
    return std::string();
  });
  run.clock.now = run.clock.now + 1;
  EXPECT_EQ(why(), "") << "without a message that would find out";
  client.send(frame(order("A-1")));
  EXPECT_TRUE(has(client.answer(), "MSA|AA|A-1\r"));
}

/// A store whose disk is full: what was kept can be read, and nothing is added.
class FullStore final : public StoreInFront {
 public:
  using StoreInFront::StoreInFront;
  engine::Status commit() override {
    if (!is_full) return StoreInFront::commit();
    StoreInFront::roll_back();
    return engine::Error{engine::Errc::Input, "the disk is full"};
  }
  std::atomic<bool> is_full = false;
};

TEST(Service, IsNotReadyWhileNothingCanBeKept) {
  const TestFolder folder;
  auto opened = adapters::open_store("sqlite:" + (folder / "history.db"));
  ASSERT_TRUE(opened);
  auto front = std::make_unique<FullStore>(std::move(*opened));
  FullStore& store = *front;
  ServiceRun run(usual_options(), {}, shipped_rules(),
                 std::make_unique<adapters::KeptHistory>(std::move(front)));
  const auto why = [&] {
    return run.on_its_thread([](adapters::Service& service) { return service.why_not_ready(); });
  };
  Client client(run.endpoint);
  client.send(frame(order("A-1")));
  EXPECT_TRUE(has(client.answer(), "MSA|AA|A-1\r"));
  EXPECT_EQ(why(), "");
  store.is_full = true;
  client.send(frame(order("A-2")));
  EXPECT_TRUE(has(client.answer(), "MSA|AR|A-2\r"));
  EXPECT_EQ(why(), "the history cannot be written; every order is refused");
  run.clock.now = run.clock.now + 60;
  EXPECT_EQ(why(), "the history cannot be written; every order is refused") << "it still is full";
  store.is_full = false;
  run.clock.now = run.clock.now + 1;
  EXPECT_EQ(why(), "") << "without a message that would find out";
  client.send(frame(order("A-2")));
  EXPECT_TRUE(has(client.answer(), "MSA|AA|A-2\r"));
}

TEST(Service, LogsWhatIsOffInABatch) {
  ServiceRun run(usual_options());
  Client client(run.endpoint);
  client.send(frame("BHS|^~\\&|APP\r" + order("A-1") + "BTS|2\r"));
  EXPECT_TRUE(has(client.answer(), "MSA|AA|A-1\r"));
  run.wait_for("in a batch: the batch trailer (BTS-1) says 2, 1 were read");
}

TEST(Service, SaysWhenItsCertificateEndsAndWhatBecameOfOthers) {
  adapters::ServiceOptions options = usual_options();
  const auto metrics = [](ServiceRun& run) {
    return run.on_its_thread([](adapters::Service& service) { return service.metrics(); });
  };
  {
    ServiceRun run(options);
    EXPECT_FALSE(has(metrics(run), "certificate_end")) << "without encryption there is none";
  }
  options.certificate_end = [] { return 1234567.5; };
  ServiceRun run(options);
  EXPECT_TRUE(has(metrics(run), "\nmeniscus_certificate_end_timestamp_seconds 1234567.5\n"));
  run.on_its_thread([](adapters::Service& service) {
    service.count_certificates(false);
    return std::string();
  });
  EXPECT_TRUE(has(metrics(run), "meniscus_certificate_reloads_total{result=\"refused\"} 1\n"));
  EXPECT_TRUE(has(metrics(run), "meniscus_certificate_reloads_total{result=\"accepted\"} 0\n"));
}

TEST(Service, SaysHowItGoesOverHttp) {
  asio::io_context context{1};
  std::string why;
  adapters::StatusServer status(context, {[&] { return why; }, [] { return "# EOF\n"; }});
  const auto bound = status.listen({asio::ip::address_v4::loopback(), 0});
  ASSERT_TRUE(bound);
  std::thread thread([&] { context.run(); });
  const auto get = [&](const std::string& request) {
    asio::io_context mine;
    asio::ip::tcp::socket socket(mine);
    socket.connect(*bound);
    asio::write(socket, asio::buffer(request + " HTTP/1.0\r\n\r\n"));
    std::string text;
    boost::system::error_code end;
    asio::read(socket, asio::dynamic_buffer(text), end);
    return text;
  };
  EXPECT_TRUE(has(get("GET /live"), " 200 OK\r\n"));
  EXPECT_TRUE(has(get("GET /ready"), " 200 OK\r\n"));
  EXPECT_TRUE(has(get("GET /ready?x=1"), " 200 OK\r\n"));
  EXPECT_TRUE(has(get("GET /metrics"), "application/openmetrics-text; version=1.0.0"));
  EXPECT_TRUE(has(get("GET /else"), " 404 "));
  EXPECT_TRUE(has(get("POST /live"), " 405 "));
  asio::ip::tcp::socket idle(context);
  idle.connect(*bound);  // holds nothing up when it ends
  asio::post(context, [&] { why = "not yet"; });
  EXPECT_TRUE(has(get("GET /ready"), " 503 "));
  asio::post(context, [&] { status.stop(); });
  thread.join();
}

}  // namespace
}  // namespace meniscus::testing
