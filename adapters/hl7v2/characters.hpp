// The character sets that MSH-18 declares: what hides separators, and text into UTF-8.
//
// Declared:  one set, or several as repetitions: the first is the message's own, the others are
//            shifted to inside a field (ISO 2022).  An empty first one is ASCII.
// Hidden:    between two shifts, and in the sets whose characters are pairs of bytes, a byte may
//            look like `|`, `^`, `~`, `\` or `&` and be half of a character.  Pairs that are not
//            closed by a shift hide nothing, so that a slip of the sender costs one text only.
// Shifts:    ESC and the bytes of ISO/IEC 2022, or the same bytes as \M2442\ or \C2842\.
// Source:    HL7 v2.5.1, table 0211 (names), section 2.7.2 (\C and \M); ISO/IEC 2022:1994.
#pragma once

#include <iconv.h>

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>

namespace meniscus::adapters::hl7v2 {

struct CharacterSet {
  std::string_view name;   // as declared; empty: ASCII or UTF-8
  const char* codec = "";  // what iconv calls it; empty: it cannot be decoded
  bool shifts = false;     // ISO 2022
  bool pairs = false;      // a byte above 0x80 takes the next one with it

  [[nodiscard]] bool hides_separators() const { return shifts || pairs; }
};

/// From MSH-18 as it stands, repetitions and all; the name is a view into it.
CharacterSet character_set(std::string_view msh18, char repetition_separator);

/// The shift that `text` begins with; its length is 0 when there is none.
struct Shift {
  std::size_t length = 0;  // as it stands in the text
  std::string bytes;       // as ISO 2022 has it
  bool to_pairs = false;   // to a set whose characters are two bytes each
  std::size_t pairs = 0;   // those bytes after it, up to the next shift; 0 where none follows
};
Shift shift_at(std::string_view text, char escape);

/// Bytes at the start of `text` of which none is a separator, for all they look like; 0 when the
/// first is what it seems.
std::size_t hidden_at(std::string_view text, char escape, const CharacterSet& set);

/// iconv, which is opened once for a set that stays the same.
class Converter {
 public:
  /// Nothing when `text` is none of that set, or the system has no such table.
  std::optional<std::string> to_utf8(std::string_view text, const char* codec);

 private:
  struct Close {
    void operator()(iconv_t handle) const { iconv_close(handle); }
  };
  std::unique_ptr<std::remove_pointer_t<iconv_t>, Close> handle_;
  std::string codec_;
};

}  // namespace meniscus::adapters::hl7v2
