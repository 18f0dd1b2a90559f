// What the fuzz targets of readers have in common.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <utility>

#include "adapters/input/byte_sources.hpp"
#include "engine/order/field_text.hpp"
#include "engine/ports/order_source.hpp"

namespace meniscus::fuzz {

/// Reads everything, asks for every place, and counts what was there.
inline std::size_t read_everything(engine::OrderSource& source) {
  engine::OrderBlock block;
  std::size_t count = 0;
  while (source.next(block)) {
    for (unsigned lane = 0; lane < block.size(); ++lane) {
      count += 1 + source.record_place(block, lane).line % 2;
      for (const engine::FieldInfo& field : engine::fields())
        if ((block.column(field.id).present >> lane & 1U) != 0)
          count += source.place(block, lane, field.id, block.origin(lane, field.id)).column % 2;
      (void)source.place(block, lane, engine::FieldId::NeedleGauge, {});
    }
    count += block.doubts().size();
  }
  return count;
}

/// `make(input, context, chunk size)` gives the source.
template <class Make>
void check_pieces(std::string_view text, std::size_t piece, Make make) {
  const engine::Feed feed;
  const engine::ReadContext context{nullptr, &feed};
  const auto whole = make(engine::Input{"-", adapters::memory_bytes(std::string(text)), 0}, context,
                          std::size_t{1} << 16U);
  const auto pieces = make(engine::Input{"-", adapters::memory_bytes(std::string(text), piece), 0},
                           context, std::size_t{16});
  if (read_everything(*whole) != read_everything(*pieces)) __builtin_trap();
}

}  // namespace meniscus::fuzz
