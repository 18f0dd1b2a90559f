// Finding whole words in text, and a quick way to know that they are not there.
//
// Signature: one of 64 bits for the first letters of a word (up to three), or for a sign.  A part
// can
//            only be found in a text that has the bit of its beginning.
#pragma once

#include <cstdint>
#include <string_view>

namespace meniscus::engine {

/// True when `part` stands in `text` as whole words, in any case of ASCII letters.
bool has_words(std::string_view text, std::string_view part);
bool same_text(std::string_view a, std::string_view b);

/// The bit of the part's first word or sign (`.5`, `@`); 0 when the part is empty or begins with a
/// blank, which tells nothing.
std::uint64_t first_word_bit(std::string_view part);
/// The bits of all words and signs of a text.
std::uint64_t word_bits(std::string_view text);

}  // namespace meniscus::engine
