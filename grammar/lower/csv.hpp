// Comma-separated values with the place of every cell (RFC 4180).
//
// Takes:   records ended by LF or CRLF; a cell in double quotes may hold commas, line ends and
//          doubled quotes.  Blanks around an unquoted cell do not count; empty lines are skipped;
//          a byte order mark is skipped.
// Errors:  a quote that is not closed, or text after a closing quote.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.hpp"
#include "engine/base/source_text.hpp"

namespace meniscus::grammar {

struct CsvCell {
  std::string text;   // quotes undone
  engine::Span span;  // of the cell's text in the file; empty cells point at their place
};
struct CsvRecord {
  std::vector<CsvCell> cells;
  engine::Span span;
};

engine::Result<std::vector<CsvRecord>> read_csv(std::string_view text);

}  // namespace meniscus::grammar
