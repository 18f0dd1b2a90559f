// History: who stands before whom, what replaces what, what is dropped.
#include "engine/history/history.hpp"

#include <gtest/gtest.h>

#include "engine/history/active.hpp"

namespace meniscus::engine {
namespace {

constexpr double kDay = 86400.0;

struct Entry {
  std::string patient = "SM-0001";
  std::string id{};
  std::string action{};  // empty: not said
  double day = 0;
  std::string fulfils{};
  std::string substance = "testosterone-cypionate";
  std::string status{};
};

class HistoryTest : public ::testing::Test {
 protected:
  void add(const Entry& entry) { history.add(block, fill(entry), at(entry.day)); }
  void set_aside(const Entry& entry) { history.set_aside(block, fill(entry)); }
  unsigned fill(const Entry& entry) {
    block.clear();
    const unsigned lane = block.add_lane();
    set(lane, FieldId::PatientId, entry.patient);
    set(lane, FieldId::OrderId, entry.id);
    set(lane, FieldId::OrderFulfils, entry.fulfils);
    set(lane, FieldId::SubstanceCode, entry.substance);
    set(lane, FieldId::OrderAction, entry.action);
    set(lane, FieldId::OrderStatus, entry.status);
    return lane;
  }
  static Value at(double day) {
    Date date;
    date.seconds = static_cast<std::int64_t>(day * kDay);
    return Value::date(date);
  }
  void set(unsigned lane, FieldId field, const std::string& text) {
    if (text.empty()) return;
    const std::string_view kept = block.keep(text);
    block.set(lane, field, Value::word(word_hash(text), kept), kept, {0, 1});
  }
  const History::Records& records() { return history.of(word_hash("SM-0001")); }

  static FieldSet kept() {
    FieldSet fields;
    fields.set(index(FieldId::SubstanceCode));
    return fields;
  }
  OrderBlock block;
  History history{100 * kDay, kept(), {}};
};

TEST_F(HistoryTest, AnOrderThatComesAsNoLongerInForceIsNotActive) {
  add({.id = "A", .day = 10, .status = "active"});
  add({.id = "B", .day = 10, .status = "cancelled"});
  add({.id = "C", .day = 10, .status = "completed"});
  add({.id = "D", .day = 10, .status = "suspended"});
  ASSERT_EQ(records().size(), 4U);
  EXPECT_TRUE(is_active(records()[0], at(10)));
  EXPECT_TRUE(records()[1].cancelled);
  EXPECT_FALSE(is_active(records()[2], at(10)));
  EXPECT_FALSE(records()[2].cancelled) << "what it gave was given";
  EXPECT_TRUE(is_active(records()[3], at(10)));
}

TEST_F(HistoryTest, KeepsRecordsByEventTimeHoweverTheyArrive) {
  add({.id = "A", .day = 10});
  add({.id = "C", .day = 30});
  add({.id = "B", .day = 20});
  ASSERT_EQ(records().size(), 3U);
  EXPECT_EQ(records()[0].id, word_hash("A"));
  EXPECT_EQ(records()[1].id, word_hash("B"));
  EXPECT_EQ(records()[2].id, word_hash("C"));
  EXPECT_EQ(records()[1].sequence, 3U);
}

TEST_F(HistoryTest, KeepsPatientsApart) {
  add({.id = "A", .day = 1});
  add({.patient = "SM-0002", .id = "B", .day = 1});
  EXPECT_EQ(records().size(), 1U);
  EXPECT_EQ(history.patients(), 2U);
  EXPECT_TRUE(history.of(word_hash("SM-0003")).empty());
}

TEST_F(HistoryTest, LaterVersionReplacesTheFormer) {
  add({.id = "A", .day = 1});
  add({.id = "A", .action = "change", .day = 2});
  ASSERT_EQ(records().size(), 2U);
  EXPECT_TRUE(records()[0].replaced);
  EXPECT_FALSE(records()[1].replaced);
}

TEST_F(HistoryTest, StopAndCancelEndTheOrderTheyName) {
  add({.id = "A", .day = 1});
  add({.id = "B", .day = 1});
  add({.id = "A", .action = "stop", .day = 5});
  add({.id = "B", .action = "cancel", .day = 5});
  ASSERT_EQ(records().size(), 2U);
  EXPECT_TRUE(records()[0].stopped);
  EXPECT_EQ(records()[0].stopped_at, 5 * kDay);
  EXPECT_TRUE(records()[1].cancelled);
}

TEST_F(HistoryTest, GivenInjectionStandsForThePlannedOneItFulfils) {
  add({.id = "A", .day = 10});
  add({.id = "G1", .action = "given", .day = 11, .fulfils = "A"});
  EXPECT_TRUE(records()[0].fulfilled);
  EXPECT_EQ(records()[1].kind, EventKind::Given);
}

TEST_F(HistoryTest, GivenWithoutAnOrderMatchesTheNearestPlannedOfTheSameSubstance) {
  add({.id = "A", .day = 10});
  add({.id = "B", .day = 17});
  add({.id = "C", .day = 18, .substance = "estradiol-valerate"});
  add({.id = "G", .action = "given", .day = 18});
  EXPECT_FALSE(records()[0].fulfilled);
  EXPECT_TRUE(records()[1].fulfilled);
  for (const HistoryRecord& record : records()) {
    if (record.id == word_hash("C")) {
      EXPECT_FALSE(record.fulfilled);
    }
  }
}

TEST_F(HistoryTest, GivenFourDaysFromPlanIsAnInjectionOfItsOwn) {
  add({.id = "A", .day = 10});
  add({.id = "G", .action = "given", .day = 14});
  EXPECT_FALSE(records()[0].fulfilled);
}

TEST_F(HistoryTest, AnOrderThatIsJudgedOnceMoreIsNotItsOwnPast) {
  add({.id = "A", .day = 10});
  add({.id = "B", .day = 20});
  set_aside({.id = "B", .day = 20});
  ASSERT_EQ(records().size(), 1U);
  EXPECT_EQ(records()[0].id, word_hash("A"));
  EXPECT_EQ(history.records(), 1U);
  add({.id = "B", .day = 20});
  ASSERT_EQ(records().size(), 2U);
  EXPECT_EQ(records()[1].id, word_hash("B"));
}

TEST_F(HistoryTest, WhatBecameOfAnOrderStaysWhenItIsJudgedOnceMore) {
  add({.id = "A", .day = 10});
  add({.id = "G", .action = "given", .day = 10, .fulfils = "A"});
  add({.id = "A", .action = "stop", .day = 30});
  set_aside({.id = "A", .day = 10});
  add({.id = "A", .day = 10});
  ASSERT_EQ(records().size(), 2U);
  const HistoryRecord& order = records()[0].id == word_hash("A") ? records()[0] : records()[1];
  EXPECT_TRUE(order.fulfilled);
  EXPECT_TRUE(order.stopped);
  EXPECT_EQ(order.stopped_at, 30 * kDay);
}

TEST_F(HistoryTest, AStopThatComesAgainTakesNoOrderOut) {
  add({.id = "A", .day = 10});
  add({.id = "A", .action = "stop", .day = 30});
  set_aside({.id = "A", .action = "stop", .day = 30});
  set_aside({.id = "A", .action = "cancel", .day = 30});
  ASSERT_EQ(records().size(), 1U);
  EXPECT_TRUE(records()[0].stopped);
}

TEST_F(HistoryTest, OnlyTheNewestVersionIsSetAside) {
  add({.id = "A", .day = 10});
  add({.id = "A", .action = "change", .day = 12});
  set_aside({.id = "A", .action = "change", .day = 12});
  ASSERT_EQ(records().size(), 1U);
  EXPECT_EQ(records()[0].day(), 10);
}

TEST_F(HistoryTest, DropsWhatLiesBeyondTheLookBackAndUsesItsMemoryAgain) {
  for (int i = 0; i < 1000; ++i)
    add({.id = "A" + std::to_string(i), .day = i * 7.0});
  EXPECT_LE(records().size(), 17U);  // 100 days look-back and a day of room, weekly
  EXPECT_EQ(history.records(), records().size());
}

TEST_F(HistoryTest, RemembersTheFieldsThatRulesReadAndNoMore) {
  add({.id = "A", .day = 1});
  const Value substance = records()[0].value(FieldId::SubstanceCode);
  ASSERT_TRUE(substance.known());
  block.clear();  // the record has its own copy of the text
  EXPECT_EQ(substance.text, "testosterone-cypionate");
  EXPECT_EQ(records()[0].value(FieldId::PatientId).state, State::Missing);
}

/// A history that remembers a number, a word and a date.
class SharedContents : public HistoryTest {
 protected:
  static FieldSet wanted() {
    FieldSet fields = kept();
    fields.set(index(FieldId::Dose));
    fields.set(index(FieldId::ScheduleStart));
    return fields;
  }
  void add(const std::string& patient, double dose, double day) {
    add(patient, dose, at(day), at(day));
  }
  void add(const std::string& patient, double dose, const Value& start, const Value& event) {
    const unsigned lane = fill({.patient = patient, .id = "A" + std::to_string(++orders)});
    block.set(lane, FieldId::Dose, Value::quantity(dose, dim::kMass), "", {0, 1});
    block.set(lane, FieldId::ScheduleStart, start, "", {0, 1});
    shared.add(block, lane, event);
  }
  /// The newest record of a patient.
  [[nodiscard]] const HistoryRecord& newest(const std::string& patient) const {
    return shared.of(word_hash(patient)).back();
  }
  void expect(const std::string& patient, double dose, double day) const {
    EXPECT_EQ(newest(patient).value(FieldId::Dose).number, dose) << patient;
    EXPECT_EQ(newest(patient).value(FieldId::ScheduleStart).number, day * kDay) << patient;
    EXPECT_EQ(newest(patient).value(FieldId::SubstanceCode).text, "testosterone-cypionate");
    EXPECT_EQ(newest(patient).word(FieldId::SubstanceCode), word_hash("testosterone-cypionate"));
  }

  int orders = 0;
  History shared{100 * kDay, wanted(), {}};
};

TEST_F(SharedContents, AreOneWhereRecordsSayTheSameButForTheirDates) {
  add("SM-0001", 50, 1);
  add("SM-0002", 50, 2);
  add("SM-0003", 60, 3);
  EXPECT_EQ(newest("SM-0001").said, newest("SM-0002").said);
  EXPECT_NE(newest("SM-0001").said, newest("SM-0003").said);
  expect("SM-0001", 50, 1);
  expect("SM-0002", 50, 2);
  expect("SM-0003", 60, 3);
}

TEST_F(SharedContents, AreApartWhereDatesLieElsewhereFromTheEvent) {
  add("SM-0001", 50, at(1), at(1));
  add("SM-0002", 50, at(1), at(4));
  EXPECT_NE(newest("SM-0001").said, newest("SM-0002").said);
  EXPECT_EQ(newest("SM-0001").said->contents, newest("SM-0002").said->contents);
  expect("SM-0001", 50, 1);
  expect("SM-0002", 50, 1);
}

TEST_F(SharedContents, GiveBackDatesAsTheyWereWritten) {
  const auto parsed = [](const char* text) { return Value::date(parse_date(text).value()); };
  for (const char* text : {"2026-03-02T09:14:07+01:00", "1969-12-31T23:59:59-09:30", "1801-01",
                           "2199-12-31T00:00Z", "2024-02-29", "1970-01-01"}) {
    for (const char* event : {"2026-03-02T09:14:07+14:00", "1850-06-30", "2199-12-31T23:59"}) {
      shared.forget_all();
      add("SM-0001", 50, parsed(text), parsed(event));
      const Value start = newest("SM-0001").value(FieldId::ScheduleStart);
      const Value when = newest("SM-0001").event();
      EXPECT_EQ(unpack(start.number, start.aux), parse_date(text).value()) << text << event;
      EXPECT_EQ(unpack(when.number, when.aux), parse_date(event).value()) << event;
      EXPECT_EQ(newest("SM-0001").day(), parse_date(event).value().day()) << event;
    }
  }
}

TEST_F(SharedContents, StayAsLongAsOneRecordUsesThem) {
  add("SM-0001", 50, 1);
  add("SM-0002", 50, 2);
  shared.forget(word_hash("SM-0001"));
  add("SM-0003", 60, 3);
  expect("SM-0002", 50, 2);
  shared.forget(word_hash("SM-0002"));  // the last one
  add("SM-0004", 70, 4);                // takes their memory
  add("SM-0005", 50, 5);
  expect("SM-0003", 60, 3);
  expect("SM-0004", 70, 4);
  expect("SM-0005", 50, 5);
  shared.forget_all();
  for (int i = 0; i < 20; ++i)
    add("SM-0006", i % 3 == 0 ? 50 : 60, 10 * i);  // old ones are dropped on the way
  expect("SM-0006", 60, 190);
}

TEST_F(HistoryTest, RecordsOfAMergedPatientStandTogether) {
  add({.patient = "SM-0002", .id = "B", .day = 20});
  add({.id = "A", .day = 10});
  history.merge(word_hash("SM-0002"), word_hash("SM-0001"));
  ASSERT_EQ(records().size(), 2U);
  EXPECT_EQ(records()[0].id, word_hash("A"));
  EXPECT_EQ(records()[1].id, word_hash("B"));
  add({.patient = "SM-0002", .id = "C", .day = 15});
  EXPECT_EQ(records().size(), 3U) << "an order under the former id is of the same person";
  EXPECT_EQ(&history.of(word_hash("SM-0002")), &records());
  EXPECT_EQ(history.patients(), 1U);
}

TEST_F(HistoryTest, MergesFollowOneAnotherAndCanBeTurnedRound) {
  add({.patient = "SM-0003", .id = "C", .day = 1});
  history.merge(word_hash("SM-0003"), word_hash("SM-0002"));
  history.merge(word_hash("SM-0002"), word_hash("SM-0001"));
  EXPECT_EQ(records().size(), 1U);
  EXPECT_EQ(history.standing(word_hash("SM-0003")), word_hash("SM-0001"));
  history.merge(word_hash("SM-0001"), word_hash("SM-0002"));
  EXPECT_EQ(history.standing(word_hash("SM-0001")), word_hash("SM-0002"));
  EXPECT_EQ(history.standing(word_hash("SM-0003")), word_hash("SM-0002"));
  EXPECT_EQ(records().size(), 1U);
  history.merge(word_hash("SM-0001"), word_hash("SM-0001"));
  history.merge(word_hash("SM-0001"), word_hash("SM-0002"));
  EXPECT_EQ(records().size(), 1U);
}

TEST_F(HistoryTest, AForgottenPatientBeginsAnew) {
  add({.id = "A", .day = 1});
  add({.patient = "SM-0002", .id = "B", .day = 1});
  set_aside({.id = "A", .day = 1});
  add({.id = "C", .day = 2});
  history.forget(word_hash("SM-0001"));
  EXPECT_TRUE(records().empty());
  EXPECT_EQ(history.records(), 1U);
  EXPECT_EQ(history.patients(), 1U);
  add({.id = "A", .day = 1});
  EXPECT_EQ(records().size(), 1U);
  history.forget_all();
  EXPECT_EQ(history.records(), 0U);
  EXPECT_EQ(history.patients(), 0U);
}

}  // namespace
}  // namespace meniscus::engine
