// The form of comma-separated values: RFC 4180, section 2, rule by rule.
#include "grammar/lower/csv.hpp"

#include <gtest/gtest.h>

namespace meniscus::grammar {
namespace {

std::vector<std::vector<std::string>> texts(std::string_view text) {
  std::vector<std::vector<std::string>> result;
  const auto records = read_csv(text);
  if (!records) return {{"error: " + records.error().message}};
  for (const CsvRecord& record : *records) {
    auto& row = result.emplace_back();
    for (const CsvCell& cell : record.cells)
      row.push_back(cell.text);
  }
  return result;
}

using Rows = std::vector<std::vector<std::string>>;

TEST(Csv, Rule1RecordsEndWithALineBreak) {
  EXPECT_EQ(texts("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n"),
            (Rows{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}));
}
TEST(Csv, Rule2TheLastLineBreakMayBeAbsent) {
  EXPECT_EQ(texts("aaa,bbb,ccc\r\nzzz,yyy,xxx"),
            (Rows{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}));
}
TEST(Csv, Rule5CellsMayBeQuoted) {
  EXPECT_EQ(texts("\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx"),
            (Rows{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}));
}
TEST(Csv, Rule6QuotedCellsMayHoldLineBreaksAndCommas) {
  EXPECT_EQ(texts("\"aaa\",\"b\r\nbb\",\"c,cc\"\r\nzzz,yyy,xxx"),
            (Rows{{"aaa", "b\r\nbb", "c,cc"}, {"zzz", "yyy", "xxx"}}));
}
TEST(Csv, Rule7AQuoteIsDoubled) {
  EXPECT_EQ(texts("\"aaa\",\"b\"\"bb\",\"ccc\""), (Rows{{"aaa", "b\"bb", "ccc"}}));
}

TEST(Csv, BlanksAroundACellDoNotCount) {
  EXPECT_EQ(texts("a , b c ,  \"d \" \n"), (Rows{{"a", "b c", "d "}}));
}
TEST(Csv, EmptyCellsAreKeptAndEmptyLinesAreNot) {
  EXPECT_EQ(texts("a,,\n\n,b,\n"), (Rows{{"a", "", ""}, {"", "b", ""}}));
}
TEST(Csv, AByteOrderMarkIsSkipped) {
  EXPECT_EQ(texts("\xEF\xBB\xBF"
                  "a,b\n"),
            (Rows{{"a", "b"}}));
}

TEST(Csv, AQuoteThatIsNotClosedIsNamedWhereItOpens) {
  const auto records = read_csv("a,b\nc,\"d\n");
  ASSERT_FALSE(records);
  EXPECT_EQ(records.error().offset, 6U);
}
TEST(Csv, TextAfterAClosingQuoteIsAMistake) { EXPECT_FALSE(read_csv("\"a\"b\n")); }

TEST(Csv, EveryCellKnowsItsPlace) {
  const std::string_view text = "a, bb\n\"c\",d\n";
  const auto records = read_csv(text);
  ASSERT_TRUE(records);
  const auto slice = [&](std::size_t row, std::size_t cell) {
    const engine::Span span = (*records)[row].cells[cell].span;
    return text.substr(span.begin, span.end - span.begin);
  };
  EXPECT_EQ(slice(0, 1), "bb");
  EXPECT_EQ(slice(1, 0), "\"c\"");
  EXPECT_EQ(slice(1, 1), "d");
}

}  // namespace
}  // namespace meniscus::grammar
