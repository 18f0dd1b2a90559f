// An order as a row of a table: nothing of the patient is left in it, and it can be read again.
#include "adapters/rules/case_row.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "adapters/rules/case_table.hpp"
#include "adapters/rules/example_orders.hpp"
#include "tests/support/rules_under_test.hpp"

namespace meniscus::adapters {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;
using ::testing::SizeIs;

constexpr std::int64_t kDay = 20514;  // 2026-03-02, a Monday

class CaseRow : public ::testing::Test {
 protected:
  engine::ExampleOrder row(const testing::Fields& order, CaseRows& rows) {
    engine::OrderBlock block;
    engine::ExampleOrder lines;
    for (const auto& [name, text] : order)
      lines.fields.push_back({*engine::field_named(name), text});
    ExampleOrders(under_test_.program()).add(block, lines, "A-1", false);
    return rows.row(block, 0);
  }
  std::string table(const testing::Fields& order) {
    CaseRows rows(kDay);
    engine::Example example;
    example.title = "one";
    example.as_of = rows.as_of();
    example.order = row(order, rows);
    example.expectations = {{engine::Outcome::Clear, false, "r"}};
    return case_table_text(example);
  }
  testing::RulesUnderTest under_test_{
      "rule r \"R\"\n  concerns all orders\n  raise note when volume > 5 mL say \"v\" blames "
      "volume\n"};
};

TEST_F(CaseRow, LeavesOutWhoItWas) {
  const std::string text = table({{"order.id", "ORD-4711"},
                                  {"order.filler", "F-815"},
                                  {"order.prescriber", "D-77"},
                                  {"order.indication", "something"},
                                  {"order.directions", "for Ms Example"},
                                  {"schedule.text", "as told to Ms Example"},
                                  {"substance.name", "Example 5 mg"},
                                  {"patient.id", "P-0815"},
                                  {"patient.born", "1988-04-02"},
                                  {"volume", "0.25 mL"}});
  for (const char* gone :
       {"ORD-4711", "F-815", "D-77", "something", "Example", "P-0815", "1988-04-02"})
    EXPECT_THAT(text, Not(HasSubstr(gone)));
  EXPECT_THAT(text, HasSubstr("SM-0001"));
  EXPECT_THAT(text, HasSubstr("A-1"));
  EXPECT_THAT(text, HasSubstr("0.25 mL"));
}

TEST_F(CaseRow, MovesDatesByTheSameWholeWeeks) {
  CaseRows rows(kDay);
  const engine::ExampleOrder got =
      row({{"order.placed", "2026-03-02"}, {"schedule.last-given", "2026-02-23"}}, rows);
  EXPECT_EQ(rows.as_of(), kDay + 91) << "thirteen weeks on: 2026-06-01, a Monday";
  ASSERT_THAT(got.fields, SizeIs(3));
  EXPECT_EQ(got.fields[1].text, "2026-06-01");
  EXPECT_EQ(got.fields[2].text, "2026-05-25");
}

TEST_F(CaseRow, TheSameOrderHasTheSameInventedNumber) {
  CaseRows rows(kDay);
  row({{"order.id", "X"}}, rows);
  EXPECT_EQ(row({{"order.id", "Y"}}, rows).fields[0].text, "A-2");
  EXPECT_EQ(row({{"order.id", "X"}}, rows).fields[0].text, "A-1");
  EXPECT_EQ(row({{"order.id", "Z"}, {"order.fulfils", "Y"}}, rows).fields[1].text, "A-2");
}

TEST_F(CaseRow, KeepsQuantitiesAsTheyWereWrittenAndLists) {
  const std::string text = table({{"needle.length", "5/8 in"},
                                  {"components", "dose=10 mg volume=1 mL; dose=20 mg volume=2 mL"},
                                  {"vial.opened", "none"}});
  EXPECT_THAT(text, HasSubstr("5/8 in"));
  EXPECT_THAT(text, HasSubstr("dose=10 mg volume=1 mL; dose=20 mg volume=2 mL"));
  EXPECT_THAT(text, HasSubstr("none"));
}

TEST_F(CaseRow, IsATableThatCanBeRead) {
  const CaseTable again =
      read_cases("one.cases.csv", table({{"patient.allergies", "a; b"}, {"dose", "50 mg"}}),
                 under_test_.program());
  EXPECT_THAT(again.diagnostics, IsEmpty());
  ASSERT_THAT(again.cases, SizeIs(1));
  EXPECT_EQ(again.cases[0].expectations[0].rule, "r");
}

}  // namespace
}  // namespace meniscus::adapters
