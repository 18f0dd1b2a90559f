// One CSV record cut into cells.
//
// Source:  RFC 4180.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/order/field.hpp"

namespace meniscus::adapters {

struct Cell {
  std::string_view text;  // between the quotes, quotes inside still doubled
  bool doubled = false;   // has doubled quotes: plain() makes them single
};

struct CsvRecord {
  enum class Kind : std::uint8_t {
    Complete,
    More,   // the bytes end inside the record
    Broken  // a quote where none may stand; the record ends with its line
  };
  Kind kind = Kind::More;
  std::size_t size = 0;    // with its line end
  std::size_t length = 0;  // without
  std::size_t bad = 0;     // Broken: where
};

/// Cuts the record at the start of `bytes` into `cells`.  `last`: nothing follows `bytes`.
CsvRecord cut_record(std::string_view bytes, char separator, bool last, std::vector<Cell>& cells);

/// The separator that the head has most of: `,` `;` or tab.
char separator_of(std::string_view head);

/// The line `sep=;` that spreadsheets write before the head, whole with its end: its length, 0
/// where `bytes` begin with no such line, and what it names.
struct SeparatorLine {
  std::size_t length = 0;
  char separator = 0;
};
SeparatorLine separator_line(std::string_view bytes);

/// The field that a cell of the head names, whatever its capitals.
std::optional<engine::FieldId> head_field(std::string_view name);

/// The cell's text with doubled quotes made single.
std::string plain(const Cell& cell);

}  // namespace meniscus::adapters
