// RFC 4180, with places.
#include "grammar/lower/csv.hpp"

#include <optional>

#include "engine/base/ascii.hpp"

namespace meniscus::grammar {
namespace {

using engine::ascii::is_blank;

using engine::Errc;
using engine::Error;

class CsvReader {
 public:
  explicit CsvReader(std::string_view text) : text_(text) {
    if (text_.starts_with("\xEF\xBB\xBF")) at_ = 3;
  }

  engine::Result<std::vector<CsvRecord>> read() {
    std::vector<CsvRecord> records;
    while (at_ < text_.size()) {
      CsvRecord record = read_record();
      if (error_) return *error_;
      const bool blank = record.cells.size() == 1 && record.cells[0].text.empty();
      if (!blank) records.push_back(std::move(record));
    }
    return records;
  }

 private:
  CsvRecord read_record() {
    CsvRecord record;
    const std::size_t begin = at_;
    do {
      record.cells.push_back(read_cell());
      if (error_) return record;
    } while (take(','));
    record.span = {place(begin), place(at_)};
    take('\r');
    take('\n');
    return record;
  }

  CsvCell read_cell() {
    skip_blanks();
    return at_ < text_.size() && text_[at_] == '"' ? read_quoted() : read_plain();
  }

  CsvCell read_plain() {
    const std::size_t begin = at_;
    while (at_ < text_.size() && text_[at_] != ',' && !at_line_end())
      ++at_;
    std::size_t end = at_;
    while (end > begin && is_blank(text_[end - 1]))
      --end;
    return {std::string(text_.substr(begin, end - begin)), {place(begin), place(end)}};
  }

  CsvCell read_quoted() {
    const std::size_t begin = at_++;
    CsvCell cell;
    while (at_ < text_.size()) {
      const char c = text_[at_++];
      if (c != '"') {
        cell.text += c;
      } else if (!take('"')) {
        cell.span = {place(begin), place(at_)};
        expect_cell_end();
        return cell;
      } else {
        cell.text += '"';
      }
    }
    error_ = Error{Errc::Syntax, "a quote is opened and never closed", place(begin), 1};
    return cell;
  }

  void expect_cell_end() {
    skip_blanks();
    if (at_ >= text_.size() || text_[at_] == ',' || at_line_end()) return;
    error_ = Error{Errc::Syntax, "text stands after a closing quote", place(at_), 1};
  }

  void skip_blanks() {
    while (at_ < text_.size() && is_blank(text_[at_]))
      ++at_;
  }
  [[nodiscard]] bool at_line_end() const {
    if (text_[at_] == '\n') return true;
    return text_[at_] == '\r' && (at_ + 1 == text_.size() || text_[at_ + 1] == '\n');
  }
  bool take(char c) {
    if (at_ >= text_.size() || text_[at_] != c) return false;
    ++at_;
    return true;
  }
  static std::uint32_t place(std::size_t at) { return static_cast<std::uint32_t>(at); }

  std::string_view text_;
  std::size_t at_ = 0;
  std::optional<Error> error_;
};

}  // namespace

engine::Result<std::vector<CsvRecord>> read_csv(std::string_view text) {
  return CsvReader(text).read();
}

}  // namespace meniscus::grammar
