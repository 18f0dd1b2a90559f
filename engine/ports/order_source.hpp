// Where orders come from: the one interface that a format implements.
//
// Contract: next() clears the block and fills it with the following records of the input, in order;
//           false when there are none left.  What cannot be read becomes a lane of kind Unreadable
//           with its reason and place, and the rest is still read.  Nothing is dropped, nothing
//           throws, and nothing about a patient is logged.
// Lifetime: the block's text is valid until the next call of next().
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "engine/order/order_block.hpp"

namespace meniscus::engine {

/// A place as people and programs name it.
struct Place {
  std::string file;          // as the user named it; "-" for standard input
  std::string at;            // JSON pointer, CSV column, HL7 path (RXE-3.1, RXR[2]-1, RXE-2(2).1)
  std::uint64_t line = 0;    // from 1; 0: the place has no line
  std::uint64_t column = 0;  // from 1, in characters
  std::string excerpt;       // the source line, cut to a width that can be shown
  std::uint32_t caret = 0;   // where `column` stands in the excerpt, in characters, from 0
  std::uint32_t width = 1;   // characters to underline
};

class OrderSource {
 public:
  OrderSource() = default;
  OrderSource(const OrderSource&) = delete;
  OrderSource& operator=(const OrderSource&) = delete;
  virtual ~OrderSource() = default;

  virtual bool next(OrderBlock& block) = 0;

  /// The place of bytes in a record of the current block.  `field` decides what `at` says for a
  /// field that is missing (its object).
  [[nodiscard]] virtual Place place(const OrderBlock& block, unsigned lane, FieldId field,
                                    Origin origin) const = 0;
  /// `at`, line and column of the same, set in `into`; for writers that show no excerpt.
  virtual void position(const OrderBlock& block, unsigned lane, FieldId field, Origin origin,
                        Place& into) const {
    into = place(block, lane, field, origin);
  }
  /// The place of a whole record, or of `reason_origin` for one that could not be read.
  [[nodiscard]] virtual Place record_place(const OrderBlock& block, unsigned lane) const = 0;

  /// Fields that this format has no place for (csv: columns that are not in the head).
  [[nodiscard]] virtual FieldSet never_carries() const { return {}; }
};

}  // namespace meniscus::engine
