// Cells and record ends (contract: csv_record.hpp).
#include "adapters/csv/csv_record.hpp"

namespace meniscus::adapters {
namespace {

struct Quoted {
  std::size_t end = std::string_view::npos;  // behind the closing quote; npos: not closed
  bool doubled = false;
};

/// From the opening quote at `at`.
Quoted quoted_cell(std::string_view bytes, std::size_t at, bool last) {
  Quoted cell;
  for (;;) {
    const std::size_t quote = bytes.find('"', at + 1);
    if (quote == std::string_view::npos) return cell;
    if (quote + 1 == bytes.size() && !last) return cell;  // may be doubled
    if (quote + 1 == bytes.size() || bytes[quote + 1] != '"') {
      cell.end = quote + 1;
      return cell;
    }
    cell.doubled = true;
    at = quote + 1;
  }
}

CsvRecord broken(std::string_view bytes, std::size_t bad) {
  std::size_t line = bytes.find('\n', bad);
  if (line == std::string_view::npos) line = bytes.size();
  const bool ended = line < bytes.size();
  return {CsvRecord::Kind::Broken, ended ? line + 1 : line, line, bad};
}

}  // namespace

CsvRecord cut_record(std::string_view bytes, char separator, bool last, std::vector<Cell>& cells) {
  cells.clear();
  const char stops[] = {separator, '\n', '\0'};
  std::size_t at = 0;
  for (;;) {
    std::size_t end = at;
    if (at < bytes.size() && bytes[at] == '"') {
      const Quoted cell = quoted_cell(bytes, at, last);
      if (cell.end == std::string_view::npos)
        return last ? broken(bytes, at) : CsvRecord{CsvRecord::Kind::More, 0, 0, 0};
      cells.push_back({bytes.substr(at + 1, cell.end - at - 2), cell.doubled});
      end = cell.end;
      if (end + 1 < bytes.size() && bytes[end] == '\r' && bytes[end + 1] == '\n') ++end;
      if (end + 1 == bytes.size() && bytes[end] == '\r')
        return last ? CsvRecord{CsvRecord::Kind::Complete, end + 1, end, 0}
                    : CsvRecord{CsvRecord::Kind::More, 0, 0, 0};
      if (end < bytes.size() && bytes[end] != separator && bytes[end] != '\n')
        return last || bytes.find('\n', end) != std::string_view::npos
                   ? broken(bytes, end)
                   : CsvRecord{CsvRecord::Kind::More, 0, 0, 0};
    } else {
      end = bytes.find_first_of(stops, at, 2);
      if (end == std::string_view::npos) end = bytes.size();
      std::string_view text = bytes.substr(at, end - at);
      const bool line_end = end == bytes.size() || bytes[end] == '\n';
      if (line_end && !text.empty() && text.back() == '\r') text.remove_suffix(1);
      cells.push_back({text, false});
    }
    if (end == bytes.size())
      return last ? CsvRecord{CsvRecord::Kind::Complete, end, end, 0}
                  : CsvRecord{CsvRecord::Kind::More, 0, 0, 0};
    if (bytes[end] == '\n') return {CsvRecord::Kind::Complete, end + 1, end, 0};
    at = end + 1;
  }
}

std::string plain(const Cell& cell) {
  std::string text;
  text.reserve(cell.text.size());
  for (std::size_t i = 0; i < cell.text.size(); ++i) {
    text += cell.text[i];
    if (cell.text[i] == '"') ++i;  // the second of a pair
  }
  return text;
}

}  // namespace meniscus::adapters
