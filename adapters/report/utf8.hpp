// UTF-8 as it comes from outside: whole sequences, and what is broken.
//
// Source:  The Unicode Standard, table 3-7 (well-formed UTF-8 byte sequences).
#pragma once

#include <cstddef>
#include <string_view>

namespace meniscus::adapters {

/// U+FFFD, which stands for every byte that is no part of a whole sequence.
inline constexpr std::string_view kReplacement = "\xEF\xBF\xBD";

/// Bytes of the well-formed sequence at the start of `text`; 0 when there is none.
std::size_t utf8_length(std::string_view text);

}  // namespace meniscus::adapters
