// Line, column and excerpt of bytes in a text input.
#pragma once

#include "engine/ports/order_source.hpp"

namespace meniscus::adapters {

/// Where a record stands in memory.
struct TextWindow {
  std::string_view bytes;               // around the record, of the same buffer
  std::uint64_t characters_before = 0;  // on the first line, before `bytes`
};

/// The place of `origin` in `record`, without `file` and `at`.  Lines and columns count from 1,
/// columns in characters; the excerpt is cut to what fits a terminal line and has no control
/// characters.
engine::Place text_place(const engine::RecordInfo& record, const TextWindow& window,
                         engine::Origin origin);

/// Its line and column alone, set in `place`: cheap, for what only machines read.
void set_text_position(const engine::RecordInfo& record, const TextWindow& window,
                       engine::Origin origin, engine::Place& place);

}  // namespace meniscus::adapters
