// What free texts were read as: names of medicines, directions and frequencies come again.
//
// Use:     complete() with a memo, for readers that read order after order.
// Exact:   all bytes are compared, whether it is a name or directions and, where a medicine is
// named
//          in it, which one is the order's own.  One memo serves one way
//          of reading (program, feed).
// Bounded: kEntries texts of at most kLongest bytes; a new one takes the place of an old one.
#pragma once

#include <cstdint>
#include <memory>
#include <string_view>
#include <vector>

#include "engine/order/field_text.hpp"

namespace meniscus::engine {

struct FreeText;                     // free_text.hpp
enum class TextRole : std::uint8_t;  // the same

class FreeTextMemo {
 public:
  static constexpr std::size_t kEntries = 512;
  static constexpr std::size_t kLongest = 512;  // bytes

  FreeTextMemo();
  ~FreeTextMemo();
  FreeTextMemo(const FreeTextMemo&) = delete;
  FreeTextMemo& operator=(const FreeTextMemo&) = delete;

  /// As read_free_text(); what it says are views into `text`.
  FreeText read(const ReadContext& context, std::string_view text, TextRole role,
                std::string_view own = {});

 private:
  struct Entry;
  std::vector<std::unique_ptr<Entry>> entries_;  // made when they are needed
};

/// complete() (field_text.hpp), quick where the memo knows the texts.
void complete(const ReadContext& context, OrderBlock& block, unsigned lane, FreeTextMemo& memo);

}  // namespace meniscus::engine
