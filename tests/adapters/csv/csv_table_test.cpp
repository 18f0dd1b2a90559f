// Tables that people keep: what a spreadsheet may save them as, and where their cells stand.
//
// Source: RFC 4180; `;` and tab as separators and a byte order mark, as spreadsheets write them.
#include "adapters/csv/csv_table.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace meniscus::adapters {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

std::vector<std::string> texts(const TableRow& row) {
  std::vector<std::string> out;
  for (const TableCell& cell : row.cells)
    out.push_back(cell.text);
  return out;
}

TEST(CsvTable, CutsRowsAndCells) {
  const CsvTable table = read_csv_table("title,expect\none, hold \n\"a, \"\"b\"\"\",clear\n");
  EXPECT_THAT(texts(table.head), ElementsAre("title", "expect"));
  ASSERT_THAT(table.rows, SizeIs(2));
  EXPECT_THAT(texts(table.rows[0]), ElementsAre("one", "hold"));
  EXPECT_THAT(texts(table.rows[1]), ElementsAre("a, \"b\"", "clear"));
  EXPECT_THAT(table.problems, IsEmpty());
}

TEST(CsvTable, ReadsWhatSpreadsheetsSave) {
  const CsvTable table =
      read_csv_table("\xEF\xBB\xBFtitle;expect\r\n\r\none;\"hold; note\"\r\n;\r\n");
  EXPECT_THAT(texts(table.head), ElementsAre("title", "expect"));
  ASSERT_THAT(table.rows, SizeIs(1)) << "empty rows are none";
  EXPECT_THAT(texts(table.rows[0]), ElementsAre("one", "hold; note"));
}

TEST(CsvTable, KnowsWhereACellStands) {
  const std::string text = "title,dose\none,\" 5 mg\"\n";
  const CsvTable table = read_csv_table(text);
  ASSERT_THAT(table.rows, SizeIs(1));
  const engine::Span span = table.rows[0].cells[1].span;
  EXPECT_EQ(text.substr(span.begin, span.end - span.begin), "5 mg");
}

TEST(CsvTable, SaysWhatCannotBeCutAndReadsTheRest) {
  const CsvTable table = read_csv_table("a,b\n1\n\"x\"y,2\n3,4\n");
  ASSERT_THAT(table.rows, SizeIs(1));
  EXPECT_THAT(texts(table.rows[0]), ElementsAre("3", "4"));
  ASSERT_THAT(table.problems, SizeIs(2));
  EXPECT_THAT(table.problems[0].reason, HasSubstr("1 cell and the head 2"));
  EXPECT_THAT(table.problems[1].reason, HasSubstr("quote"));
}

TEST(CsvTable, SaysThatThereIsNothing) {
  ASSERT_THAT(read_csv_table("").problems, SizeIs(1));
  EXPECT_THAT(read_csv_table("\n\n").problems[0].reason, HasSubstr("empty"));
  EXPECT_THAT(read_csv_table("a\n\xFF\n").problems[0].reason, HasSubstr("UTF-8"));
}

}  // namespace
}  // namespace meniscus::adapters
