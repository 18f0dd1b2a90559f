// The store of orders: what it keeps, what it refuses, and that nothing half written stays.
//
// Source: SQLite, "Write-Ahead Logging" and "PRAGMA synchronous" (sqlite.org): a committed
// transaction of a log with full synchronisation outlives a loss of power.  The log itself is
// SQLite's to test.
#include "adapters/history/sqlite_store.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {

namespace fs = std::filesystem;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

class Store : public ::testing::Test {
 public:
  std::unique_ptr<SqliteStore> open() {
    auto store = SqliteStore::open(path);
    EXPECT_TRUE(store) << store.error().message;
    return store ? std::move(*store) : nullptr;
  }
  static std::vector<std::string> all(SqliteStore& store) {
    std::vector<std::string> texts;
    EXPECT_TRUE(store.each([&](std::string_view text) { texts.emplace_back(text); }));
    return texts;
  }

  testing::TestFolder folder;
  std::string path = folder / "history.db";
};

TEST_F(Store, KeepsOrdersInTheOrderOfReceiptAcrossRuns) {
  {
    const auto store = open();
    EXPECT_EQ(*store->since(), std::nullopt);
    ASSERT_TRUE(store->add({"SM-0012", "A-2", 20520, "{\"b\":1}"}));
    ASSERT_TRUE(store->add({"SM-0012", "A-1", 20510, "{\"a\":1}"}));
    ASSERT_TRUE(store->commit());
  }
  const auto store = open();
  EXPECT_THAT(all(*store), ElementsAre("{\"b\":1}", "{\"a\":1}"));
  EXPECT_EQ(*store->since(), 20520) << "an order that came late says nothing of the days before";
  EXPECT_EQ(*store->size(), 2U);
}

TEST_F(Store, KeepsWhatIsSentAgainOnce) {
  const auto store = open();
  EXPECT_TRUE(*store->add({"SM-0012", "A-1", 20520, "one"}));
  EXPECT_FALSE(*store->add({"SM-0012", "A-1", 20520, "one"}));
  EXPECT_TRUE(*store->add({"SM-0012", "A-1", 20520, "changed"}));
  ASSERT_TRUE(store->add({"SM-0012", "A-1", 20520, "one"}));
  ASSERT_TRUE(store->add({"SM-0013", "A-1", 20520, "one"}));
  ASSERT_TRUE(store->commit());
  EXPECT_THAT(all(*store), ElementsAre("one", "changed", "one", "one"));
}

TEST_F(Store, LeavesNoTraceOfWhatWasNotCommitted) {
  {
    const auto store = open();
    ASSERT_TRUE(store->add({"SM-0012", "A-1", 20520, "kept"}));
    ASSERT_TRUE(store->commit());
    ASSERT_TRUE(store->add({"SM-0012", "A-2", 20520, "lost"}));
  }
  EXPECT_THAT(all(*open()), ElementsAre("kept"));
}

TEST_F(Store, IsReadableByItsOwnerAlone) {
  const auto store = open();
  ASSERT_TRUE(store->add({"SM-0012", "A-1", 20520, "one"}));
  ASSERT_TRUE(store->commit());
  for (const auto& entry : fs::directory_iterator(folder.path())) {
    const fs::perms others = fs::perms::group_all | fs::perms::others_all;
    EXPECT_EQ(fs::status(entry).permissions() & others, fs::perms::none) << entry.path();
  }
}

TEST_F(Store, IsForOneProgramAtATime) {
  const auto first = open();
  const auto second = SqliteStore::open(path);
  ASSERT_FALSE(second);
  EXPECT_THAT(second.error().message, HasSubstr(path));
  EXPECT_THAT(second.error().message, HasSubstr("locked"));
}

TEST_F(Store, RefusesWhatIsNoHistory) {
  folder.write("history.db", "patient,dose\nSM-0012,50 mg\n" + std::string(2000, 'x'));
  const auto text = SqliteStore::open(path);
  ASSERT_FALSE(text);
  EXPECT_THAT(text.error().message, HasSubstr("not a database"));
  EXPECT_THAT(text.error().message, Not(HasSubstr("SM-0012")));
  const auto missing = SqliteStore::open(folder / "nowhere/history.db");
  ASSERT_FALSE(missing);
  EXPECT_THAT(missing.error().message, HasSubstr("cannot be opened or made"));
}

TEST_F(Store, HoldsTextsAsTheyAre) {
  const std::string odd = "{\"x\":\"it's \\u0000 \xC3\xA9 \\\"\"}";
  const auto store = open();
  ASSERT_TRUE(store->add({"SM-0012'; DROP TABLE orders; --", "", 20520, odd}));
  ASSERT_TRUE(store->commit());
  ASSERT_TRUE(store->add({"SM-0013", {}, 20520, "an order without a number"}));
  ASSERT_TRUE(store->commit());
  EXPECT_THAT(all(*store), ElementsAre(odd, "an order without a number"));
}

}  // namespace
}  // namespace meniscus::adapters
