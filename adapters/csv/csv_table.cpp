// Rows and cells of a table (contract: csv_table.hpp).
#include "adapters/csv/csv_table.hpp"

#include <algorithm>
#include <utility>

#include "adapters/csv/csv_record.hpp"
#include "engine/base/ascii.hpp"
#include "engine/base/utf8.hpp"

namespace meniscus::adapters {

namespace {
using engine::Span;

Span span_of(std::string_view all, std::string_view part) {
  const auto begin = static_cast<std::uint32_t>(part.data() - all.data());
  return {begin, begin + static_cast<std::uint32_t>(part.size())};
}

TableRow row_of(std::string_view all, std::string_view record, const std::vector<Cell>& cells) {
  TableRow row;
  row.span = span_of(all, record);
  for (const Cell& cell : cells) {
    std::string_view text = engine::ascii::trimmed(cell.text);
    if (text.empty()) text = cell.text.substr(0, 0);
    row.cells.push_back(
        {cell.doubled ? plain({text, true}) : std::string(text), span_of(all, text)});
  }
  return row;
}

bool is_empty(const TableRow& row) {
  return std::all_of(row.cells.begin(), row.cells.end(),
                     [](const TableCell& cell) { return cell.text.empty(); });
}

std::string counted(std::size_t cells) {
  return std::to_string(cells) + (cells == 1 ? " cell" : " cells");
}

class Reader {
 public:
  explicit Reader(std::string_view text) : all_(text), rest_(text) {}

  CsvTable read() {
    constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
    if (rest_.starts_with(kByteOrderMark)) rest_.remove_prefix(kByteOrderMark.size());
    const std::size_t bad = engine::first_invalid_utf8(all_);
    const std::size_t nul = all_.find('\0');
    if (bad != std::string_view::npos || nul != std::string_view::npos) {
      const auto at = static_cast<std::uint32_t>(std::min(bad, nul));
      table_.problems.push_back({{at, at + 1},
                                 "bytes that are no UTF-8 text; save the table as "
                                 "CSV in UTF-8"});
      return std::move(table_);
    }
    while (!rest_.empty()) {
      if (skip_line_end()) continue;
      if (!has_head_) separator_ = separator_of(rest_.substr(0, rest_.find('\n')));
      record();
    }
    if (!has_head_)
      table_.problems.push_back({{0, 0}, "the table is empty; its first row names fields"});
    return std::move(table_);
  }

 private:
  bool skip_line_end() {
    const std::size_t size = rest_.starts_with("\r\n") ? 2 : rest_.starts_with('\n') ? 1 : 0;
    rest_.remove_prefix(size);
    return size > 0;
  }

  void record() {
    const CsvRecord cut = cut_record(rest_, separator_, true, cells_);
    const std::string_view record = rest_.substr(0, cut.length);
    if (cut.kind == CsvRecord::Kind::Broken) {
      table_.problems.push_back(
          {span_of(all_, rest_.substr(cut.bad, 1)),
           "a quote that is not closed, or that stands where none may stand"});
    } else {
      take(row_of(all_, record, cells_));
    }
    rest_.remove_prefix(std::max<std::size_t>(cut.size, 1));
  }

  void take(TableRow row) {
    if (is_empty(row)) return;
    if (!has_head_) {
      has_head_ = true;
      table_.head = std::move(row);
    } else if (row.cells.size() == table_.head.cells.size()) {
      table_.rows.push_back(std::move(row));
    } else {
      table_.problems.push_back({row.span, "the row has " + counted(row.cells.size()) +
                                               " and the head " +
                                               std::to_string(table_.head.cells.size()) +
                                               "; which is which is not known"});
    }
  }

  std::string_view all_;
  std::string_view rest_;
  char separator_ = ',';
  bool has_head_ = false;
  std::vector<Cell> cells_;
  CsvTable table_;
};
}  // namespace

CsvTable read_csv_table(std::string_view text) { return Reader(text).read(); }

}  // namespace meniscus::adapters
