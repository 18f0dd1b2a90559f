// Orders from JSON: one order a line, one document, a list of orders, documents one after another.
// A line of json_merge.hpp may stand between them.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

#include "engine/order/field_text.hpp"
#include "engine/ports/byte_source.hpp"
#include "engine/ports/order_source.hpp"

namespace meniscus::adapters {

struct JsonLimits {
  std::size_t record_bytes = std::size_t{64} << 20U;  // a longer record is unreadable
  std::size_t chunk_bytes = std::size_t{256} << 10U;  // read at a time
};

/// A line's start in an input.
struct JsonPlace {
  std::uint64_t line = 1;
  std::uint64_t offset = 0;  // bytes
};

/// Reads `input` to its end.  The context's program and feed must outlive the source.
std::unique_ptr<engine::OrderSource> make_json_source(engine::Input input,
                                                      const engine::ReadContext& context,
                                                      const JsonLimits& limits = {});
/// The same for the end of an input, which begins at `begins`, between two records.
std::unique_ptr<engine::OrderSource> make_json_rest(engine::Input input,
                                                    const engine::ReadContext& context,
                                                    const JsonPlace& begins);

/// Reads pieces of an input that are handed to it, each from the start of a line to the end of one.
class JsonPieceSource : public engine::OrderSource {
 public:
  /// The next piece, of at most JsonLimits::chunk_bytes; it must live until next() has read it.
  virtual void begin(std::string_view piece, const JsonPlace& begins) = 0;
  /// next() has read all of the piece, and it ended between two records.  When not, what it gave
  /// may be wrong, and so may be all that this source gives from then on.
  [[nodiscard]] virtual bool is_whole() = 0;
};
std::unique_ptr<JsonPieceSource> make_json_pieces(std::string name, std::uint32_t file,
                                                  const engine::ReadContext& context);

}  // namespace meniscus::adapters
