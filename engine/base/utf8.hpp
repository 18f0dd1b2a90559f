// UTF-8 by bytes: validity, and characters (code points) counted.
//
// Source: RFC 3629 (no surrogates, no overlong forms, nothing above U+10FFFF).
#pragma once

#include <cstddef>
#include <string_view>

namespace meniscus::engine {

/// U+FFFD, which stands for every byte that is no part of a character.
inline constexpr std::string_view kReplacement = "\xEF\xBF\xBD";

/// Bytes of the character at the start of `text`; 0 when there is none.
std::size_t utf8_length(std::string_view text);
/// Offset of the first byte that is no part of a character, or npos.
std::size_t first_invalid_utf8(std::string_view text);
/// Characters in `text`; a stray byte counts as one.
std::size_t count_characters(std::string_view text);

}  // namespace meniscus::engine
