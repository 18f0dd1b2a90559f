// The service over sockets of this machine: order, limits, refusals, time, and a stop.
#include "adapters/service/service.hpp"

#include <gtest/gtest.h>

#include <vector>

#include "tests/adapters/service/service_run.hpp"

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
  EXPECT_TRUE(has(run.log(), "begun and not ended in time"));
  EXPECT_TRUE(has(run.log(), "no message for the idle time"));
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

}  // namespace
}  // namespace meniscus::testing
