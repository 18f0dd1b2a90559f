// A patient's list of records beside a list of the standard library that is told the same.
#include "engine/history/patient_records.hpp"

#include <gtest/gtest.h>

#include <map>
#include <random>

namespace meniscus::engine {
namespace {

/// std::multimap keeps equal keys in the order in which they came, as history does.
class PatientRecordsTest : public ::testing::Test {
 protected:
  void insert(double when) {
    HistoryRecord record;
    record.when = when;
    record.sequence = ++received;
    records.insert(record);
    expected.emplace(when, received);
  }
  void drop_oldest() {
    records.drop_oldest(1);
    expected.erase(expected.begin());
  }
  void erase(std::size_t at) {
    records.erase(&records[at]);
    expected.erase(std::next(expected.begin(), static_cast<std::ptrdiff_t>(at)));
  }
  void expect_same() const {
    ASSERT_EQ(records.size(), expected.size());
    auto wanted = expected.begin();
    for (const HistoryRecord& record : records) {
      ASSERT_EQ(record.when, wanted->first);
      ASSERT_EQ(record.sequence, wanted->second);
      ++wanted;
    }
  }

  std::mt19937 random{20260302};
  std::uint32_t received = 0;
  PatientRecords records;
  std::multimap<double, std::uint32_t> expected;
};

TEST_F(PatientRecordsTest, StandAsInAMultimapWhateverComesAndGoes) {
  for (int step = 0; step < 20000; ++step) {
    const std::uint32_t what = random() % 16;
    // Grows to some hundred records, then shrinks to none, and so on.
    const bool growing = step / 400 % 2 == 0;
    if (what == 0 && !records.empty()) {
      erase(random() % records.size());
    } else if ((what < 6) == growing && !records.empty()) {
      drop_oldest();
    } else {
      const int day = step / 7;  // seven on the same
      insert(what % 4 == 0 ? day - static_cast<int>(random() % 90) : day);
    }
    expect_same();
    if (HasFatalFailure()) return;
  }
}

TEST_F(PatientRecordsTest, AnEmptiedListThatWasMovedFromTakesRecordsAgain) {
  for (int i = 0; i < 9; ++i)
    insert(i);
  const PatientRecords elsewhere = std::move(records);
  EXPECT_EQ(elsewhere.size(), 9U);
  EXPECT_EQ(elsewhere.back().when, 8);
  records = {};
  expected.clear();
  insert(1);
  expect_same();
}

TEST_F(PatientRecordsTest, KnowWhichCameLaterWhenTheirNumbersComeRound) {
  HistoryRecord before;
  before.sequence = 0xFFFFFFFEU;
  HistoryRecord after;
  after.sequence = 1;
  EXPECT_TRUE(after.came_after(before));
  EXPECT_FALSE(before.came_after(after));
  EXPECT_FALSE(after.came_after(after));
}

}  // namespace
}  // namespace meniscus::engine
