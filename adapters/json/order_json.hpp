// One JSON object -> one lane of a block.
//
// Reads:   the layout of docs/formats.md: nested objects or dotted keys; quantities as text or as
//          {"value": 50, "unit": "mg"}; lists as lists; null and [] as known to be none.
// Doubt:   a value of the wrong JSON type, a key that no field has, a key given twice.  A key that
//          starts with `_` or `x-`, or that the feed says to ignore, is passed over.
// Memory:  text stays where it is in the record's buffer; only escaped text is copied (into the
//          block).  The parser's own memory is kept from record to record.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string_view>

#include "engine/order/field_text.hpp"

namespace meniscus::adapters {

class OrderJson {
 public:
  explicit OrderJson(const engine::ReadContext& context);
  ~OrderJson();
  OrderJson(const OrderJson&) = delete;
  OrderJson& operator=(const OrderJson&) = delete;

  struct Outcome {
    bool read = false;     // false: the record is no JSON object; json_problem() says why
    std::size_t size = 0;  // bytes of the object; what follows is another record
    bool any_field = false;
  };
  /// Fills `lane` from the object at the start of `record`.  The buffer must be readable for
  /// ChunkBuffer::kPadding bytes behind `record`.
  Outcome read(std::string_view record, engine::OrderBlock& block, unsigned lane);
  /// Where the object of a group (json_keys.hpp) stands in the record that was last read into
  /// `lane`: bytes from its start.  Nothing where the record has none.
  [[nodiscard]] std::optional<std::uint32_t> object_at(unsigned lane, std::uint8_t group) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace meniscus::adapters
