// Tables of cases: which rows are tests, which are earlier orders, and what is wrong with a cell.
//
// Source: docs/writing-rules.md, "Tables of cases".
#include "adapters/rules/case_table.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/rules_under_test.hpp"

namespace meniscus::adapters {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

constexpr const char* kRules = R"(
rule small "Not much"
    concerns all orders
    raise clarify when volume > 1 mL say "{volume}" blames volume
)";

CaseTable read(const std::string& text) {
  static const testing::RulesUnderTest kUnderTest(kRules);
  return read_cases("small.cases.csv", text, kUnderTest.program());
}

std::vector<std::string> complaints(const std::string& text) {
  std::vector<std::string> out;
  for (const engine::Diagnostic& diagnostic : read(text).diagnostics)
    out.push_back(engine::render_line(diagnostic));
  return out;
}

TEST(CaseTable, ARowIsAnExample) {
  const CaseTable table =
      read("title,volume,as-of,expect\nover,2 mL,2026-03-02,clarify from small; clarify\n");
  EXPECT_THAT(table.diagnostics, IsEmpty());
  ASSERT_THAT(table.cases, SizeIs(1));
  const engine::Example& example = table.cases[0];
  EXPECT_EQ(example.title, "over");
  EXPECT_EQ(example.line, 2U);
  EXPECT_EQ(example.as_of, 20514);
  ASSERT_THAT(example.order.fields, SizeIs(1));
  EXPECT_EQ(example.order.fields[0].field, engine::FieldId::Volume);
  ASSERT_THAT(example.expectations, SizeIs(2));
  EXPECT_EQ(example.expectations[0].rule, "small");
  EXPECT_EQ(example.expectations[1].rule, "");
}

TEST(CaseTable, ARowThatExpectsNothingIsEarlierThanThoseBelowItOfItsPatient) {
  const CaseTable table = read(
      "patient.id,volume,expect\n"
      "SM-0001,1 mL,\n"
      "SM-0002,2 mL,\n"
      "SM-0001,3 mL,clarify\n"
      "SM-0002,3 mL,clarify\n"
      "SM-0001,4 mL,\n"
      "SM-0001,5 mL,clarify\n");
  EXPECT_THAT(table.diagnostics, IsEmpty());
  ASSERT_THAT(table.cases, SizeIs(3));
  ASSERT_THAT(table.cases[0].earlier, SizeIs(1));
  EXPECT_EQ(table.cases[0].earlier[0].fields[1].text, "1 mL");
  EXPECT_THAT(table.cases[1].earlier, SizeIs(1));
  EXPECT_THAT(table.cases[2].earlier, SizeIs(2)) << "a row that is tested is no history";
}

struct Wrong {
  const char* name;
  const char* text;
  const char* complaint;
};
const Wrong kWrong[] = {
    {"Column", "volum,expect\n1 mL,clear\n", "1:1: error[C0102]: `volum` is no field of an order"},
    {"ColumnTwice", "volume,volume,expect\n1 mL,1 mL,clear\n",
     "1:8: error[C0102]: the column `volume` stands twice"},
    {"NoExpect", "volume\n1 mL\n", "1:1: error[C0102]: no column is called `expect`"},
    {"Value", "volume,expect\n\"1,5 mL\",clear\n", "2:2: error[C0103]: volume: "},
    {"Day", "volume,as-of,expect\n1 mL,02/03/2026,clear\n",
     "2:6: error[C0103]: as-of: `02/03/2026` is no day"},
    {"Grade", "volume,expect\n1 mL,bad\n", "2:6: error[C0104]: nothing is graded `bad`"},
    {"Rule", "volume,expect\n1 mL,clear from smal\n", "2:6: error[C0104]: no rule is named `smal`"},
    {"Words", "volume,expect\n1 mL,clear small\n",
     "2:6: error[C0104]: `clear small` cannot be read"},
    {"NoCase", "volume,patient.id,expect\n1 mL,SM-0001,\n",
     "2:1: error[C0105]: the row expects nothing, and no row below"},
    {"NoPatient", "volume,expect\n1 mL,\n",
     "2:1: error[C0105]: the row expects nothing and names no patient.id"},
    {"Ragged", "volume,expect\n1 mL\n2 mL,clear\n",
     "2:1: error[C0101]: the row has 1 cell and the head 2"}};

class WrongTable : public ::testing::TestWithParam<Wrong> {};
TEST_P(WrongTable, IsSaidWithItsPlace) {
  EXPECT_THAT(complaints(GetParam().text),
              ElementsAre(HasSubstr(std::string("small.cases.csv:") + GetParam().complaint)));
}
INSTANTIATE_TEST_SUITE_P(Tables, WrongTable, ::testing::ValuesIn(kWrong),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(CaseTable, AWrongRowLosesNoOther) {
  const CaseTable table = read("volume,expect\n1 mL,bad\n1 mL,clear\n");
  EXPECT_THAT(table.diagnostics, SizeIs(1));
  EXPECT_THAT(table.cases, SizeIs(1));
}

}  // namespace
}  // namespace meniscus::adapters
