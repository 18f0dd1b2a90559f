// One HL7 v2 message cut into segments, fields, repetitions and components: views, no copies.
//
//   Message message;
//   message.parse(text);
//   for (const Segment& s : message.segments())
//     if (s.name == "RXE") use(message.field(s, 3));
//
// Takes:    the bytes of one message, from `MSH` to its end, without framing.
// Holds:    offsets into that text.  The text must outlive the message; parse() again reuses the
//           memory, so reading message after message allocates nothing.
// Lenient:  CR, LF, CRLF or a mixture end a segment.  A bare LF inside a message that has CRs is
//           content unless a segment begins after it.  Odd or missing MSH-2 falls back to `^~\&`.
//           Two segments that were glued together are taken apart and marked.
// Hidden:   a separator that is half of a character (MSH-18, characters.hpp) splits nothing.
// Never:    decodes an escape (escape.hpp does, after splitting), throws, or reads past the text.
// Source:   HL7 v2.5.1 chapter 2 (2.5 message construction rules, 2.7 escapes, 2.10 MSH).
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "adapters/hl7v2/characters.hpp"

namespace meniscus::adapters::hl7v2 {

struct Delimiters {
  char field = '|';
  char component = '^';
  char repetition = '~';
  char escape = '\\';
  char subcomponent = '&';
  char truncation = 0;  // 2.7 and later: the fifth of MSH-2; 0 when not declared

  /// Takes them from a header segment (MSH, FHS, BHS).
  static Delimiters from_header(std::string_view segment);
};

struct Segment {
  std::string_view name;    // three characters; empty for a line that is no segment
  std::uint32_t begin = 0;  // bytes from the start of the message
  std::uint32_t end = 0;
  std::uint32_t first = 0;   // index of its field starts
  std::uint32_t fields = 0;  // how many separators it has
  bool glued = false;        // it began inside the segment before it: an end was lost
  bool header = false;       // MSH, FHS or BHS: its first field is the separator itself
};

class Message {
 public:
  void parse(std::string_view text);

  [[nodiscard]] std::string_view text() const { return text_; }
  [[nodiscard]] const Delimiters& delimiters() const { return delimiters_; }
  [[nodiscard]] const std::vector<Segment>& segments() const { return segments_; }
  [[nodiscard]] bool has_high_bytes() const { return has_high_bytes_; }
  /// The escape character stands somewhere behind MSH-2.
  [[nodiscard]] bool has_escapes() const { return has_escapes_; }
  [[nodiscard]] const CharacterSet& characters() const { return characters_; }

  /// Field `number` (from 1) as it stands, with all its repetitions; empty when it is not there.
  /// MSH-1 is the separator itself, so the first text after `MSH|` is MSH-2.
  [[nodiscard]] std::string_view field(const Segment& segment, unsigned number) const {
    if (segment.header) return header_field(segment, number);
    if (number == 0 || number > segment.fields) return {};
    return plain_field(segment, number);
  }
  /// Where field `number` begins, of those that the segment has; 0 is the segment's name.  Counts
  /// separators, also in a header.
  [[nodiscard]] std::uint32_t field_begin(const Segment& segment, unsigned number) const {
    return number == 0 ? segment.begin : starts_[segment.first + number - 1];
  }
  /// First segment of that name, or null.
  [[nodiscard]] const Segment* find(std::string_view name) const;

  /// Repetition `number` (from 0) of a field; a null view when there are fewer.
  [[nodiscard]] std::string_view repetition(std::string_view field, unsigned number) const {
    return part(field, delimiters_.repetition, number);
  }
  [[nodiscard]] bool repeats(std::string_view field) const;
  /// Component `number` (from 1) of one repetition; a null view when there are fewer.
  [[nodiscard]] std::string_view component(std::string_view repetition, unsigned number) const {
    return part(repetition, delimiters_.component, number - 1);
  }
  [[nodiscard]] std::string_view subcomponent(std::string_view component, unsigned number) const {
    return part(component, delimiters_.subcomponent, number - 1);
  }
  /// Component of the first repetition.
  [[nodiscard]] std::string_view first(std::string_view field, unsigned number) const {
    return component(repetition(field, 0), number);
  }

  /// The `number`-th part (from 0) between separators.
  [[nodiscard]] std::string_view part(std::string_view text, char separator,
                                      unsigned number) const {
    while (number > 0) {
      const std::size_t at = find_in(text, separator);
      if (at == std::string_view::npos) return {};
      text.remove_prefix(at + 1);
      --number;
    }
    return text.substr(0, find_in(text, separator));
  }
  /// The first separator in a part of the message, or npos.
  [[nodiscard]] std::size_t find_in(std::string_view text, char separator) const {
    if (characters_.hides_separators()) return find_past_hidden(text, separator);
    if (text.size() > kShort) return text.find(separator);
    for (std::size_t i = 0; i < text.size(); ++i)
      if (text[i] == separator) return i;
    return std::string_view::npos;
  }

 private:
  static constexpr std::size_t kShort = 16;  // bytes that are looked at without a call

  [[nodiscard]] std::string_view plain_field(const Segment& segment, unsigned number) const {
    const std::uint32_t from = starts_[segment.first + number - 1];
    const std::uint32_t to =
        number == segment.fields ? segment.end : starts_[segment.first + number] - 1;
    return {text_.data() + from, to - from};
  }
  [[nodiscard]] std::string_view header_field(const Segment& segment, unsigned number) const;
  [[nodiscard]] std::size_t find_past_hidden(std::string_view text, char separator) const;
  void start();
  void finish();
  void take(std::uint32_t at);
  void take_end(std::uint32_t at);
  [[nodiscard]] bool is_any_glued() const;
  void scan();
  std::uint32_t scan_blocks(std::uint32_t declared);
  void scan_past_hidden();
  void close_segment(std::uint32_t end);
  void split_glued();
  [[nodiscard]] bool ends_segment(std::uint32_t at) const;

  std::string_view text_;
  Delimiters delimiters_;
  CharacterSet characters_;
  std::vector<Segment> segments_;
  std::vector<std::uint32_t> starts_;  // after each field separator; only the first count_ count
  std::uint32_t count_ = 0;
  std::vector<Segment> rest_;  // split_glued()'s scratch
  bool has_high_bytes_ = false;
  bool has_escapes_ = false;
  bool has_cr_ = false;
  std::uint32_t open_ = 0;        // where the segment being scanned began
  std::uint32_t open_first_ = 0;  // its first entry in starts_
};

/// The first line, without its end.
std::string_view first_line(std::string_view text);

/// A line that can begin a segment: an upper-case letter, two upper-case letters or digits, then
/// the separator or the end.
bool looks_like_segment(std::string_view line, char field_separator);

}  // namespace meniscus::adapters::hl7v2
