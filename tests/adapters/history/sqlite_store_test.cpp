// The store in a file: what is particular to it (order_store_test.cpp has what every store does).
//
// Source: SQLite, "Write-Ahead Logging" and "PRAGMA synchronous" (sqlite.org): a committed
// transaction of a log with full synchronisation outlives a loss of power.  The log itself is
// SQLite's to test.
#include "adapters/history/sqlite_store.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>

#include <filesystem>
#include <string>
#include <vector>

#include "adapters/history/sqlite_statements.hpp"
#include "tests/support/test_folder.hpp"

namespace meniscus::adapters {
namespace {

namespace fs = std::filesystem;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;

class Store : public ::testing::Test {
 public:
  [[nodiscard]] std::unique_ptr<SqliteStore> open() const {
    auto store = SqliteStore::open(path);
    EXPECT_TRUE(store) << store.error().message;
    return store ? std::move(*store) : nullptr;
  }
  static std::vector<std::string> all(SqliteStore& store) {
    std::vector<std::string> texts;
    EXPECT_TRUE(
        store.each({}, [&](const KeptOrder& kept) { texts.emplace_back(kept.order.text); }));
    return texts;
  }

  testing::TestFolder folder;
  std::string path = folder / "history.db";
};

TEST_F(Store, BringsAFileOfTheFirstVersionUpToDate) {
  sqlite3* old = nullptr;
  ASSERT_EQ(sqlite3_open(path.c_str(), &old), SQLITE_OK);
  const std::string first = std::string(sqlite::kFirstVersion) +
                            "INSERT INTO orders(patient, number, day, text) VALUES"
                            "('SM-0012', 'A-2', 20520, 'two'), ('SM-0012', 'A-1', 20510, 'one');";
  ASSERT_EQ(sqlite3_exec(old, first.c_str(), nullptr, nullptr, nullptr), SQLITE_OK);
  sqlite3_close(old);
  const auto store = open();
  EXPECT_THAT(all(*store), ElementsAre("two", "one"));
  EXPECT_EQ(*store->since(), 20520) << "the first order received says it, as it did before";
}

TEST_F(Store, BringsAFileOfTheSecondVersionUpToDate) {
  sqlite3* old = nullptr;
  ASSERT_EQ(sqlite3_open(path.c_str(), &old), SQLITE_OK);
  const std::string second =
      std::string(sqlite::kFirstVersion) + sqlite::kSecondVersion +
      "INSERT INTO orders(patient, number, day, text) VALUES('SM-0012', 'A-1', 20510, 'one');"
      "INSERT INTO merged VALUES('SM-0013', 'SM-0012');"
      "INSERT INTO facts VALUES('since', 20400);"
      "INSERT INTO answers VALUES('APP|FAC', 'M-2', x'00ff', 2000, x'0B1C0D'),"
      "('APP|FAC', 'M-1', x'01', 1000, x'6F6C64'), ('OTHER', 'M-2', x'02', 3000, x'6F74686572');";
  ASSERT_EQ(sqlite3_exec(old, second.c_str(), nullptr, nullptr, nullptr), SQLITE_OK);
  sqlite3_close(old);
  for (const char* const time : {"first", "again"}) {
    const auto store = open();
    EXPECT_THAT(all(*store), ElementsAre("one")) << time;
    EXPECT_EQ(*store->since(), 20400) << time;
    EXPECT_EQ(store->size()->merges, 1U) << time;
    EXPECT_EQ(store->size()->answers, 3U) << time;
    ASSERT_TRUE(store->begin({}));
    const auto kept = store->answer_to("APP|FAC", "M-2", 2000);
    ASSERT_TRUE(kept && *kept) << time;
    EXPECT_EQ((*kept)->digest, std::string_view("\x00\xFF", 2)) << time;
    EXPECT_EQ((*kept)->answer, "\x0B\x1C\r") << time;
    EXPECT_EQ((*store->answer_to("OTHER", "M-2", 0))->answer, "other") << time;
    ASSERT_TRUE(store->commit());
  }
  const auto store = open();
  ASSERT_TRUE(store->drop_answers(1500)) << "they are in the order of their age";
  EXPECT_EQ(store->size()->answers, 2U);
}

TEST_F(Store, OfTwoAnswersToOneMessageTheLastIsMeantAndCounted) {
  const auto store = open();
  ASSERT_TRUE(store->begin({}));
  ASSERT_TRUE(store->add_answer({"APP|FAC", "M-1", "a", 3000, "first"}));
  ASSERT_TRUE(store->add_answer({"APP|FAC", "M-1", "b", 2000, "last, by a clock set back"}));
  EXPECT_EQ((*store->answer_to("APP|FAC", "M-1", 2000))->digest, "b");
  EXPECT_FALSE(*store->answer_to("APP|FAC", "M-1", 2500)) << "the last is too old";
  ASSERT_TRUE(store->commit());
  EXPECT_EQ(store->size()->answers, 1U);
}

TEST_F(Store, RefusesAFileOfALaterVersion) {
  ASSERT_NE(open(), nullptr);
  sqlite3* later = nullptr;
  ASSERT_EQ(sqlite3_open(path.c_str(), &later), SQLITE_OK);
  ASSERT_EQ(sqlite3_exec(later, "PRAGMA user_version = 99", nullptr, nullptr, nullptr), SQLITE_OK);
  sqlite3_close(later);
  const auto store = SqliteStore::open(path);
  ASSERT_FALSE(store);
  EXPECT_THAT(store.error().message, HasSubstr("no history of this version"));
}

TEST_F(Store, IsReadableByItsOwnerAlone) {
  const auto store = open();
  ASSERT_TRUE(store->begin({}));
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

}  // namespace
}  // namespace meniscus::adapters
