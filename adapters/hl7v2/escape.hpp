// The text of an HL7 v2 field: escapes decoded, character set turned into UTF-8.
//
// Takes:    one field, component or subcomponent, after splitting (an escaped separator never
//           splits).
// Returns:  the very bytes where nothing needs decoding, which is nearly always; else text that is
//           kept in the block.
// Escapes:  \F\ \S\ \T\ \R\ \E\ \P\, \Xhh..\, \H\ and \N\ (dropped), \.br\ and the other formatting
//           commands (a blank).  An unknown, local or unterminated one stays as it was sent.
// Bytes:    what is valid UTF-8 and shifts to no other set is taken as such whatever MSH-18 says;
//           else it is converted from the set that MSH-18 declares (characters.hpp), and what
//           cannot be becomes U+FFFD, visibly.
// Source:   HL7 v2.5.1 section 2.7.
#pragma once

#include <string>
#include <string_view>

#include "adapters/hl7v2/characters.hpp"
#include "adapters/hl7v2/message.hpp"
#include "engine/base/utf8.hpp"
#include "engine/order/order_block.hpp"

namespace meniscus::adapters::hl7v2 {

struct TextCoding {
  Delimiters delimiters;
  CharacterSet characters;
  bool has_high_bytes = false;
  bool may_change = true;          // false: no escape, shift or high byte in the whole message
  Converter* converter = nullptr;  // of the reader that owns the message

  /// A decoded text of which something was lost, though MSH-18 says what it is in.
  [[nodiscard]] bool is_lost(std::string_view decoded) const {
    return !characters.name.empty() && decoded.find(engine::kReplacement) != std::string_view::npos;
  }
};

/// Decodes; text that changes is kept in `block`.
std::string_view decode(std::string_view raw, const TextCoding& coding, engine::OrderBlock& block);
/// The same into a string of the caller's.
void decode_into(std::string_view raw, const TextCoding& coding, std::string& out);

/// Text made safe for a field: separators, escapes and ends are escaped, control bytes dropped.
void append_escaped(std::string_view text, const Delimiters& delimiters, std::string& out);

}  // namespace meniscus::adapters::hl7v2
