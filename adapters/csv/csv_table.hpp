// A whole CSV text as a table whose cells have places: for tables that people keep, not for feeds.
//
// Reads:    what the CSV reader of orders reads (csv_source.hpp): RFC 4180, a byte order mark, LF
//           or CRLF, and `,` `;` or tab between the cells, whichever the head has. Empty lines, and
//           rows whose cells are all empty, are skipped.
// Errors:   a row that cannot be cut, or whose cells are not as many as the head's, is a problem
//           with its place; the others are still read.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/base/source_text.hpp"

namespace meniscus::adapters {

struct TableCell {
  std::string text;   // quotes undone, without the blanks around it
  engine::Span span;  // of its text in the file
};
struct TableRow {
  std::vector<TableCell> cells;
  engine::Span span;
};
struct TableProblem {
  engine::Span span;
  std::string reason;  // lower case, no full stop
};
struct CsvTable {
  TableRow head;
  std::vector<TableRow> rows;  // each with as many cells as the head
  std::vector<TableProblem> problems;
};

CsvTable read_csv_table(std::string_view text);

}  // namespace meniscus::adapters
