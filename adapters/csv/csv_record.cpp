// Cells and record ends (contract: csv_record.hpp).
#include "adapters/csv/csv_record.hpp"

#include <algorithm>
#include <array>

#include "engine/base/ascii.hpp"

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

CsvRecord more() { return {CsvRecord::Kind::More, 0, 0, 0}; }

/// Takes the quoted cell at `at` and sets `end` behind it and behind the CR of a line end.  False,
/// with `result`, when the record is done, broken or not all there.
bool take_quoted(std::string_view bytes, std::size_t at, char separator, bool last,
                 std::vector<Cell>& cells, std::size_t& end, CsvRecord& result) {
  const Quoted cell = quoted_cell(bytes, at, last);
  if (cell.end == std::string_view::npos) {
    result = last ? broken(bytes, at) : more();
    return false;
  }
  cells.push_back({bytes.substr(at + 1, cell.end - at - 2), cell.doubled});
  end = cell.end;
  if (end == bytes.size() || bytes[end] == separator || bytes[end] == '\n') return true;
  if (bytes[end] == '\r') {
    if (end + 1 == bytes.size()) {
      result = last ? CsvRecord{CsvRecord::Kind::Complete, end + 1, end, 0} : more();
      return false;
    }
    if (bytes[end + 1] == '\n') {
      ++end;
      return true;
    }
  }
  const bool whole = last || bytes.find('\n', end) != std::string_view::npos;
  result = whole ? broken(bytes, end) : more();
  return false;
}

/// Takes the cell without quotes at `at`; gives its end, before a separator or the line end.
std::size_t take_plain(std::string_view bytes, std::size_t at, char separator,
                       std::vector<Cell>& cells) {
  const char stops[] = {separator, '\n', '\0'};
  std::size_t end = bytes.find_first_of(stops, at, 2);
  if (end == std::string_view::npos) end = bytes.size();
  std::string_view text = bytes.substr(at, end - at);
  const bool line_end = end == bytes.size() || bytes[end] == '\n';
  if (line_end && !text.empty() && text.back() == '\r') text.remove_suffix(1);
  cells.push_back({text, false});
  return end;
}

}  // namespace

CsvRecord cut_record(std::string_view bytes, char separator, bool last, std::vector<Cell>& cells) {
  cells.clear();
  std::size_t at = 0;
  for (;;) {
    std::size_t end = at;
    if (at < bytes.size() && bytes[at] == '"') {
      CsvRecord result = more();
      if (!take_quoted(bytes, at, separator, last, cells, end, result)) return result;
    } else {
      end = take_plain(bytes, at, separator, cells);
    }
    if (end == bytes.size())
      return last ? CsvRecord{CsvRecord::Kind::Complete, end, end, 0} : more();
    if (bytes[end] == '\n') return {CsvRecord::Kind::Complete, end + 1, end, 0};
    at = end + 1;
  }
}

char separator_of(std::string_view head) {
  constexpr std::array<char, 3> kSeparators = {',', ';', '\t'};
  char best = ',';
  std::ptrdiff_t most = 0;
  for (const char separator : kSeparators) {
    const auto count = std::count(head.begin(), head.end(), separator);
    if (count > most) {
      most = count;
      best = separator;
    }
  }
  return best;
}

SeparatorLine separator_line(std::string_view bytes) {
  constexpr std::string_view kName = "sep=";
  const std::size_t end = bytes.find('\n');
  if (end == std::string_view::npos) return {};
  std::string_view line = bytes.substr(0, end);
  if (line.ends_with('\r')) line.remove_suffix(1);
  if (line.size() > 1 && line.front() == '"' && line.back() == '"')
    line = line.substr(1, line.size() - 2);
  const bool named =
      line.size() == kName.size() + 1 &&
      std::ranges::equal(line.substr(0, kName.size()), kName, {}, engine::ascii::lower);
  return named ? SeparatorLine{end + 1, line.back()} : SeparatorLine{};
}

std::optional<engine::FieldId> head_field(std::string_view name) {
  std::string small(name);
  std::ranges::transform(small, small.begin(), engine::ascii::lower);
  return engine::field_named(small);
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
