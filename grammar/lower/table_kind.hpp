// What a column holds, by its head: `name [kind]`.
//
//   (none)                     words (codes)
//   text                       text
//   mL, mg/mL, mPa.s ...       numbers in that unit; a cell may also name a unit of its dimension
//   volume, time, length ...   quantities with their unit
//   amount, strength           of whichever dimension the cell's unit has
//   number                     numbers, or percentages
//   yes/no, gauge, date
//   time band, body mass band  `A to B`, B excluded; `any` for an open end
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "engine/program/program.hpp"
#include "grammar/check/dimension_set.hpp"

namespace meniscus::grammar {

struct ColumnKind {
  engine::Type type = engine::Type::Word;
  DimensionSet dimensions;  // Quantity, Band
  double factor = 0;        // of the head's unit; 0: cells name their own unit
  bool strength = false;    // cells are read as strengths
};

/// By the text between the brackets; nothing when no such kind is known.
std::optional<ColumnKind> column_kind(std::string_view kind);

/// The known kind nearest to `text`, as "did you mean ...", or a list of kinds.
std::string kind_help(std::string_view text);

/// One cell's value.  `text` must live as long as the program.  Errors: MissingUnit,
/// DimensionMismatch and what the engine's readers give.
engine::Result<engine::Value> read_cell(const ColumnKind& kind, std::string_view text);

}  // namespace meniscus::grammar
