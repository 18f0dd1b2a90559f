// What every store of orders does, whatever is behind it.
//
// The file store always, alone and behind another one; the database where MENISCUS_TEST_POSTGRES
// says where one is (an empty one; tests/interop/history/postgres.py starts it).
#include "adapters/history/order_store.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "adapters/history/kept_history.hpp"
#include "adapters/history/sqlite_store.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

/// An empty store that can be closed and opened again.
class Place {
 public:
  explicit Place(const std::string& kind) : is_alone_(kind == "sqlite_alone") {
    place_ = kind == "postgresql" ? fresh_database() : "sqlite:" + path_;
  }
  [[nodiscard]] std::unique_ptr<OrderStore> open() const {
    if (is_alone_) return std::move(*SqliteStore::open(path_));
    auto store = open_store(place_);
    EXPECT_TRUE(store) << store.error().message;
    return store ? std::move(*store) : nullptr;
  }

 private:
  /// A schema of its own in the database, so that tests do not see one another.
  static std::string fresh_database() {
    static int count = 0;
    const char* const database = std::getenv("MENISCUS_TEST_POSTGRES");
    return std::string("postgresql:") + (database == nullptr ? "" : database) + " schema=test_" +
           std::to_string(++count);
  }

  testing::TestFolder folder_;
  std::string path_ = folder_ / "history.db";
  bool is_alone_;
  std::string place_;
};

class AnyStore : public ::testing::TestWithParam<std::string> {
 public:
  using Texts = std::vector<std::string>;

  [[nodiscard]] std::unique_ptr<OrderStore> open() const { return place.open(); }
  static void keep(OrderStore& store, const std::vector<StoredOrder>& orders) {
    std::vector<std::string_view> patients;
    patients.reserve(orders.size());
    for (const StoredOrder& order : orders)
      patients.push_back(order.patient);
    ASSERT_TRUE(store.begin(patients));
    for (const StoredOrder& order : orders)
      ASSERT_TRUE(store.add(order));
    ASSERT_TRUE(store.commit());
  }
  static Texts all(OrderStore& store, std::string_view patient = {}) {
    Texts texts;
    EXPECT_TRUE(store.each(patient, [&](const KeptOrder& kept) {
      texts.emplace_back(std::string(kept.order.patient) + " " + std::string(kept.order.text));
    }));
    return texts;
  }
  /// What read() gives of one patient, and the last receipt into `after`.
  static Texts news(OrderStore& store, std::string_view patient, std::int64_t& after,
                    Texts* merges = nullptr) {
    Texts texts;
    Texts unwanted;
    Texts& said = merges == nullptr ? unwanted : *merges;
    const std::array<std::string_view, 1> patients = {patient};
    EXPECT_TRUE(store.begin(patients));
    const std::array<OrderStore::Wanted, 1> wanted = {{{patient, after}}};
    EXPECT_TRUE(store.read(
        wanted,
        [&](const KeptOrder& kept) {
          texts.emplace_back(kept.order.text);
          after = kept.receipt;
        },
        [&](std::string_view former, std::string_view now) {
          said.push_back(std::string(former) + " is " + std::string(now));
        }));
    EXPECT_TRUE(store.commit());
    return texts;
  }

  Place place{GetParam()};
};

TEST_P(AnyStore, KeepsOrdersInTheOrderOfReceiptAcrossRuns) {
  keep(*open(), {{"SM-0012", "A-2", 20520, "two"}, {"SM-0013", "B-1", 20510, "one"}});
  const auto store = open();
  keep(*store, {{"SM-0012", "A-3", 20400, "three"}});
  EXPECT_THAT(all(*store), ElementsAre("SM-0012 two", "SM-0013 one", "SM-0012 three"));
  EXPECT_THAT(all(*store, "SM-0012"), ElementsAre("SM-0012 two", "SM-0012 three"));
  const auto size = store->size();
  ASSERT_TRUE(size);
  EXPECT_EQ(size->orders, 3U);
  EXPECT_EQ(size->patients, 2U);
}

TEST_P(AnyStore, ReadsWhatIsNewOfAPatient) {
  const auto store = open();
  std::int64_t after = 0;
  keep(*store, {{"SM-0012", "A-1", 20520, "one"}, {"SM-0013", "B-1", 20520, "other"}});
  EXPECT_THAT(news(*store, "SM-0012", after), ElementsAre("one"));
  EXPECT_THAT(news(*store, "SM-0012", after), IsEmpty());
  keep(*store, {{"SM-0012", "A-2", 20520, "two"}});
  EXPECT_THAT(news(*store, "SM-0012", after), ElementsAre("two"));
}

TEST_P(AnyStore, LeavesNoTraceOfWhatWasNotCommitted) {
  const std::array<std::string_view, 1> patients = {"SM-0012"};
  {
    const auto store = open();
    keep(*store, {{"SM-0012", "A-1", 20520, "kept"}});
    ASSERT_TRUE(store->begin(patients));
    ASSERT_TRUE(store->add({"SM-0012", "A-2", 20520, "taken back"}));
    store->roll_back();
    EXPECT_THAT(all(*store), ElementsAre("SM-0012 kept"));
    ASSERT_TRUE(store->begin(patients));
    ASSERT_TRUE(store->add({"SM-0012", "A-3", 20520, "cut off"}));
  }
  EXPECT_THAT(all(*open()), ElementsAre("SM-0012 kept"));
}

TEST_P(AnyStore, KnowsSinceWhenItIsWhole) {
  {
    const auto store = open();
    EXPECT_EQ(*store->since(), std::nullopt);
    ASSERT_TRUE(store->begin({}));
    ASSERT_TRUE(store->set_since(20520));
    ASSERT_TRUE(store->commit());
  }
  EXPECT_EQ(*open()->since(), 20520);
}

TEST_P(AnyStore, MovesTheOrdersOfAMergedPatientBehindThoseThatWereRead) {
  const auto store = open();
  keep(*store, {{"SM-0012", "A-1", 20520, "old"}, {"SM-0013", "B-1", 20520, "mine"}});
  std::int64_t after = 0;
  EXPECT_THAT(news(*store, "SM-0013", after), ElementsAre("mine"));
  const std::array<std::string_view, 2> both = {"SM-0012", "SM-0013"};
  ASSERT_TRUE(store->begin(both));
  ASSERT_TRUE(store->merge("SM-0012", "SM-0013"));
  ASSERT_TRUE(store->commit());
  Texts merges;
  EXPECT_THAT(news(*store, "SM-0013", after, &merges), ElementsAre("old"));
  const Texts named = {"SM-0012 is SM-0013"};
  EXPECT_EQ(merges, store->is_shared() ? named : Texts{}) << "others may not have heard of it";
  EXPECT_THAT(all(*store), ElementsAre("SM-0013 mine", "SM-0013 old"));
}

TEST_P(AnyStore, KnowsEachFormerIdOnce) {
  const auto store = open();
  const auto merge = [&](std::string_view former, std::string_view patient) {
    const std::array<std::string_view, 2> both = {former, patient};
    ASSERT_TRUE(store->begin(both));
    ASSERT_TRUE(store->merge(former, patient));
    ASSERT_TRUE(store->commit());
  };
  const auto merges = [&] {
    Texts all;
    EXPECT_TRUE(store->each_merge([&](std::string_view former, std::string_view patient) {
      all.push_back(std::string(former) + " is " + std::string(patient));
    }));
    return all;
  };
  merge("SM-0012", "SM-0013");
  merge("SM-0013", "SM-0014");
  EXPECT_THAT(merges(), ElementsAre("SM-0012 is SM-0014", "SM-0013 is SM-0014"));
  merge("SM-0014", "SM-0013");  // turned round
  EXPECT_THAT(merges(), ElementsAre("SM-0012 is SM-0013", "SM-0014 is SM-0013"));
  merge("SM-0015", "SM-0015");
  EXPECT_EQ(merges().size(), 2U);
}

TEST_P(AnyStore, KeepsAnswersForAWhile) {
  const std::string digest("\x00\x01\xff", 3);
  {
    const auto store = open();
    ASSERT_TRUE(store->begin({}));
    ASSERT_TRUE(store->add_answer({"APP|FAC", "M-1", digest, 1000, "\x0BMSH\x1C\r"}));
    ASSERT_TRUE(store->commit());
  }
  const auto store = open();
  ASSERT_TRUE(store->begin({}));
  const auto found = store->answer_to("APP|FAC", "M-1", 1000);
  ASSERT_TRUE(found);
  ASSERT_TRUE(*found);
  EXPECT_EQ((*found)->digest, digest);
  EXPECT_EQ((*found)->answer, "\x0BMSH\x1C\r");
  EXPECT_FALSE(*store->answer_to("APP|FAC", "M-1", 1001)) << "it is too old";
  EXPECT_FALSE(*store->answer_to("APP|OTHER", "M-1", 0));
  ASSERT_TRUE(store->add_answer({"APP|FAC", "M-1", digest, 2000, "later"}));
  ASSERT_TRUE(store->commit());
  std::string last;
  ASSERT_TRUE(store->each_answered([&](const OrderStore::MessageId& message, double at) {
    last = std::string(message.sender) + " " + std::string(message.control) + " " +
           std::to_string(static_cast<int>(at));
  }));
  EXPECT_EQ(last, "APP|FAC M-1 2000");
  ASSERT_TRUE(store->drop_answers(1500));
  ASSERT_TRUE(store->begin({}));
  EXPECT_EQ((*store->answer_to("APP|FAC", "M-1", 0))->answer, "later");
  ASSERT_TRUE(store->commit());
  ASSERT_TRUE(store->drop_answers(2500));
  EXPECT_EQ(store->size()->answers, 0U);
}

TEST_P(AnyStore, PrunesByDayAndIsWholeFromThere) {
  const auto store = open();
  keep(*store, {{"SM-0012", "A-1", 20400, "old"}, {"SM-0012", "A-2", 20500, "new"}});
  ASSERT_TRUE(store->begin({}));
  ASSERT_TRUE(store->set_since(20400));
  ASSERT_TRUE(store->commit());
  EXPECT_EQ(*store->prune(20450), 1U);
  EXPECT_THAT(all(*store), ElementsAre("SM-0012 new"));
  EXPECT_EQ(*store->since(), 20450);
  EXPECT_EQ(*store->prune(20300), 0U);
  EXPECT_EQ(*store->since(), 20450) << "it is not whole for longer because less was asked for";
}

TEST_P(AnyStore, HoldsTextsAsTheyAre) {
  const std::string odd = "{\"x\":\"it's \\u0000 \xC3\xA9 \\\\ \\\"\"}";
  const std::string patient = "SM-0012'; DROP TABLE orders; --";
  const auto store = open();
  keep(*store, {{patient, "", 20520, odd}, {"SM-0013", {}, 20520, "an order without a number"}});
  EXPECT_THAT(all(*store), ElementsAre(patient + " " + odd, "SM-0013 an order without a number"));
  std::int64_t after = 0;
  EXPECT_THAT(news(*store, patient, after), ElementsAre(odd));
}

std::vector<std::string> kinds() {
  if (std::getenv("MENISCUS_TEST_POSTGRES") == nullptr) return {"sqlite", "sqlite_alone"};
  return {"sqlite", "sqlite_alone", "postgresql"};
}
INSTANTIATE_TEST_SUITE_P(Stores, AnyStore, ::testing::ValuesIn(kinds()),
                         [](const auto& info) { return info.param; });

}  // namespace
}  // namespace meniscus::adapters
