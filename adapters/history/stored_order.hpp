// An order as a store keeps it: one line of JSON that the program's own reader reads again.
//
// Kept:      every field that later orders may be judged by, as text that any feed reads as the
// same
//            value (the fields' names are docs/fields.md's, written flat).
// Again:     the same amounts, strengths and days come with order after order; what they are as
// text
//            is remembered, for some hundred of them.
// Left out:  who ordered it and for what, every free text (what was read from it is kept), lists
//            (what is remembered has none), and what follows from other fields (the age from the
//            birth date).
// Added:     `order.placed`, the day that the order was judged as of, where it has no date of its
// own;
//            without it a later run could not know when it was.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "engine/order/order_block.hpp"

namespace meniscus::adapters {

class StoredOrderWriter {
 public:
  StoredOrderWriter();

  /// Appends the line, without its end.  `day`: that the order is judged as of, days since
  /// 1970-01-01.
  void append(std::string& out, const engine::OrderBlock& block, unsigned lane, std::int64_t day);

 private:
  static constexpr std::size_t kMost = 512;    // texts that are remembered
  static constexpr std::size_t kLongest = 64;  // bytes as they were written; longer ones are not

  /// All that the text of a number or a date depends on, and that text as JSON.
  struct Said {
    engine::FieldId field{};
    double number = 0;
    std::uint64_t aux = 0;
    bool from_text = false;
    std::string written;
    std::string text;  // empty: the place is free
  };

  /// The text of a known value that is a number or a date.
  const std::string& say(const engine::OrderBlock& block, unsigned lane, engine::FieldId field,
                         const engine::Value& value);

  std::vector<Said> said_;
  Said long_;
  std::string plain_;
};

}  // namespace meniscus::adapters
