// Orders from JSON: one order a line, one document, a list of orders, documents one after another.
#pragma once

#include <memory>

#include "engine/order/field_text.hpp"
#include "engine/ports/byte_source.hpp"
#include "engine/ports/order_source.hpp"

namespace meniscus::adapters {

struct JsonLimits {
  std::size_t record_bytes = std::size_t{64} << 20U;  // a longer record is unreadable
  std::size_t chunk_bytes = std::size_t{256} << 10U;  // read at a time
};

/// Reads `input` to its end.  The context's program and feed must outlive the source.
std::unique_ptr<engine::OrderSource> make_json_source(engine::Input input,
                                                      const engine::ReadContext& context,
                                                      const JsonLimits& limits = {});

}  // namespace meniscus::adapters
