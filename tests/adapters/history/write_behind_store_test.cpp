// Turns that are brought to the disk while the next one goes on.  What every store does is tested
// in order_store_test.cpp.
#include "adapters/history/write_behind_store.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <atomic>
#include <future>
#include <string>
#include <vector>

#include "adapters/history/sqlite_store.hpp"
#include "tests/adapters/history/gate_store.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::testing {
namespace {

using adapters::KeptOrder;
using adapters::OrderStore;
using adapters::SqliteStore;
using adapters::WriteBehindStore;
using ::testing::ElementsAre;
using ::testing::IsEmpty;

class WriteBehind : public ::testing::Test {
 public:
  WriteBehind() { open(); }
  void open() {
    auto file = SqliteStore::open(folder_ / "history.db");
    ASSERT_TRUE(file);
    auto gated = std::make_unique<GateStore>(std::move(*file));
    gate = gated.get();
    store = std::make_unique<WriteBehindStore>(std::move(gated));
  }
  void add(const std::string& patient, const std::string& text) const {
    ASSERT_TRUE(store->begin({}));
    ASSERT_TRUE(store->add({patient, "A-" + text, 20520, text}));
  }
  void answer(const std::string& control, const std::string& text) const {
    ASSERT_TRUE(store->add_answer({"APP", control, "digest", 1000, text}));
  }
  /// What the message was answered; empty: nothing is known of it.
  [[nodiscard]] std::string said(const std::string& control, double oldest = 0) const {
    const auto answer = store->answer_to("APP", control, oldest);
    if (!answer) return answer.error().message;
    return *answer ? std::string((*answer)->answer) : "";
  }
  [[nodiscard]] bool hand_over() {
    return store->hand_over([this] { ++ended; });
  }
  /// Until `turns` that were handed over are kept.
  void settle(std::size_t turns) const {
    for (std::size_t kept = 0; kept < turns;) {
      const auto some = store->settle();
      ASSERT_TRUE(some) << some.error().message;
      ASSERT_GT(*some, 0U);
      kept += *some;
      ASSERT_LE(kept, turns);
    }
  }
  [[nodiscard]] std::vector<std::string> all() const {
    std::vector<std::string> texts;
    EXPECT_TRUE(
        store->each({}, [&](const KeptOrder& kept) { texts.emplace_back(kept.order.text); }));
    return texts;
  }
  [[nodiscard]] std::vector<std::string> of(const std::string& patient) const {
    std::vector<std::string> texts;
    const std::array<OrderStore::Wanted, 1> wanted = {{{patient, 0}}};
    const engine::Status read = store->read(
        wanted, [&](const KeptOrder& kept) { texts.emplace_back(kept.order.text); },
        [](std::string_view, std::string_view) {});
    return read ? texts : std::vector{read.error().message};
  }

  GateStore* gate = nullptr;
  std::unique_ptr<WriteBehindStore> store;
  std::atomic<int> ended = 0;

 private:
  TestFolder folder_;
};

TEST_F(WriteBehind, TheNextTurnGoesOnAndSeesWhatIsUnderWay) {
  add("SM-0012", "one");
  answer("M-1", "accepted");
  gate->shut();
  ASSERT_TRUE(hand_over());
  gate->wait_for_commit();
  add("SM-0012", "two");
  answer("M-2", "refused");
  EXPECT_EQ(said("M-1"), "accepted");
  EXPECT_EQ(said("M-1", 1001), "") << "it is too old";
  EXPECT_EQ(said("M-2"), "refused");
  EXPECT_EQ(said("M-3"), "") << "and nothing was waited for";
  ASSERT_TRUE(hand_over());
  EXPECT_EQ(said("M-2"), "refused");
  EXPECT_EQ(ended, 0);
  gate->open();
  settle(2);
  EXPECT_THAT(all(), ElementsAre("one", "two"));
  EXPECT_EQ(said("M-1"), "accepted");
  EXPECT_EQ(said("M-2"), "refused");
  store.reset();
  EXPECT_EQ(ended, 2);
}

TEST_F(WriteBehind, TurnsThatAreHandedOverMeanwhileShareACommit) {
  add("SM-0012", "one");
  gate->shut();
  ASSERT_TRUE(hand_over());
  gate->wait_for_commit();
  for (const char* const text : {"two", "three", "four"}) {
    add("SM-0012", text);
    ASSERT_TRUE(hand_over());
  }
  ASSERT_TRUE(hand_over()) << "what it has said may rest on those before it";
  gate->open();
  settle(5);
  EXPECT_THAT(all(), ElementsAre("one", "two", "three", "four"));
  store.reset();
  EXPECT_EQ(ended, 2);
}

TEST_F(WriteBehind, TurnsBehindOneThatFailsAreNotWritten) {
  add("SM-0012", "one");
  answer("M-1", "accepted");
  gate->shut();
  ASSERT_TRUE(hand_over());
  gate->wait_for_commit();
  add("SM-0012", "two");
  answer("M-2", "accepted");
  ASSERT_TRUE(hand_over());
  gate->open_and_fail();
  EXPECT_THAT(of("SM-0013"), ElementsAre("the disk is full"));
  gate->open();
  add("SM-0012", "three");
  ASSERT_TRUE(hand_over()) << "it is not known yet";
  EXPECT_FALSE(store->settle());
  store->roll_back();
  EXPECT_THAT(all(), IsEmpty());
  EXPECT_EQ(said("M-2"), "");
  const auto none = store->settle();
  ASSERT_TRUE(none);
  EXPECT_EQ(*none, 0U);
  add("SM-0012", "again");
  ASSERT_TRUE(hand_over());
  settle(1);
  EXPECT_THAT(all(), ElementsAre("again"));
}

TEST_F(WriteBehind, ATurnThatFailsTakesWhatBuildsOnItWithIt) {
  add("SM-0012", "one");
  answer("M-1", "accepted");
  gate->shut();
  ASSERT_TRUE(hand_over());
  gate->wait_for_commit();
  add("SM-0012", "two");
  gate->open_and_fail();
  EXPECT_THAT(of("SM-0013"), ElementsAre("the disk is full"));
  EXPECT_FALSE(store->commit());
  const auto landed = store->settle();
  ASSERT_FALSE(landed);
  EXPECT_EQ(landed.error().message, "the disk is full");
  store->roll_back();
  gate->open();
  EXPECT_THAT(all(), IsEmpty());
  EXPECT_EQ(said("M-1"), "");
  add("SM-0012", "again");
  ASSERT_TRUE(hand_over());
  ASSERT_TRUE(store->settle());
  EXPECT_THAT(all(), ElementsAre("again"));
}

TEST_F(WriteBehind, APatientIsReadOnceTheTurnUnderWayIsKept) {
  add("SM-0012", "one");
  gate->shut();
  ASSERT_TRUE(hand_over());
  gate->wait_for_commit();
  auto opened = std::async(std::launch::async, [this] { gate->open(); });
  EXPECT_THAT(of("SM-0012"), ElementsAre("one"));
  opened.get();
  ASSERT_TRUE(store->settle());
}

TEST_F(WriteBehind, APatientWhoseOrderWasOnlyNotedIsReadWithIt) {
  add("SM-0012", "one");
  EXPECT_THAT(of("SM-0013"), IsEmpty());
  EXPECT_THAT(of("SM-0012"), ElementsAre("one"));
  answer("M-1", "accepted");
  EXPECT_EQ(said("M-1"), "accepted");
  EXPECT_FALSE(hand_over()) << "it is being written already";
  store->roll_back();
  EXPECT_THAT(all(), IsEmpty());
}

TEST_F(WriteBehind, ATurnWithAMergeIsWrittenAsItGoes) {
  add("SM-0012", "one");
  ASSERT_TRUE(store->merge("SM-0012", "SM-0013"));
  add("SM-0013", "two");
  EXPECT_FALSE(hand_over());
  ASSERT_TRUE(store->commit());
  EXPECT_THAT(of("SM-0013"), ElementsAre("one", "two"));
}

TEST_F(WriteBehind, WhatIsUnderWayIsKeptWhenTheStoreIsClosed) {
  add("SM-0012", "one");
  ASSERT_TRUE(hand_over());
  add("SM-0012", "cut off");
  store.reset();
  EXPECT_EQ(ended, 1);
  open();
  EXPECT_THAT(all(), ElementsAre("one"));
}

TEST_F(WriteBehind, AnswersOfEarlierRunsAreFound) {
  ASSERT_TRUE(store->begin({}));
  answer("M-1", "accepted");
  ASSERT_TRUE(store->commit());
  store.reset();
  open();
  EXPECT_EQ(said("M-1"), "accepted");
  EXPECT_EQ(said("M-2"), "");
}

TEST_F(WriteBehind, NothingToKeepIsNothingToHandOver) {
  ASSERT_TRUE(store->begin({}));
  EXPECT_FALSE(hand_over());
  EXPECT_TRUE(store->commit());
}

}  // namespace
}  // namespace meniscus::testing
