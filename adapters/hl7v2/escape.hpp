// The text of an HL7 v2 field: escapes decoded, character set turned into UTF-8.
//
// Takes:    one field, component or subcomponent, after splitting (an escaped separator never
//           splits).
// Returns:  the very bytes where nothing needs decoding, which is nearly always; else text that is
//           kept in the block.
// Escapes:  \F\ \S\ \T\ \R\ \E\ \P\, \Xhh..\, \H\ and \N\ (dropped), \.br\ and the other formatting
//           commands (a blank).  An unknown, local or unterminated one stays as it was sent.
// Bytes:    what is valid UTF-8 is taken as such whatever MSH-18 says; else 8859/1 is converted
//           where MSH-18 declares it, and anything else becomes U+FFFD, visibly.
// Source:   HL7 v2.5.1 section 2.7; MSH-18 values, table 0211.
#pragma once

#include <string>
#include <string_view>

#include "adapters/hl7v2/message.hpp"
#include "engine/order/order_block.hpp"

namespace meniscus::adapters::hl7v2 {

enum class CharacterSet : std::uint8_t { Utf8, Latin1, Other };
/// From MSH-18 as it stands (repetitions and all).
CharacterSet character_set(std::string_view msh18, char repetition_separator);

struct TextCoding {
  Delimiters delimiters;
  CharacterSet characters = CharacterSet::Utf8;
  bool has_high_bytes = false;
};

/// Decodes; text that changes is kept in `block`.
std::string_view decode(std::string_view raw, const TextCoding& coding, engine::OrderBlock& block);
/// The same into a string of the caller's.
void decode_into(std::string_view raw, const TextCoding& coding, std::string& out);

/// Text made safe for a field: separators, escapes and ends are escaped, control bytes dropped.
void append_escaped(std::string_view text, const Delimiters& delimiters, std::string& out);

bool is_valid_utf8(std::string_view text);

}  // namespace meniscus::adapters::hl7v2
