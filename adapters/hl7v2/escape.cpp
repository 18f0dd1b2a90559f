// Decoding goes through the text once; nothing nests.
#include "adapters/hl7v2/escape.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <optional>

#include "engine/base/utf8.hpp"

namespace meniscus::adapters::hl7v2 {
namespace {

unsigned char byte(char c) { return static_cast<unsigned char>(c); }

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  return -1;
}

/// The bytes of \Xhh..\; false when they are no pairs of hexadecimal digits.
bool append_hex(std::string_view digits, std::string& out) {
  if (digits.empty() || digits.size() % 2 != 0) return false;
  std::string bytes;
  for (std::size_t i = 0; i < digits.size(); i += 2) {
    const int high = hex_digit(digits[i]);
    const int low = hex_digit(digits[i + 1]);
    if (high < 0 || low < 0) return false;
    const int value = high * 16 + low;
    bytes += value < 0x20 ? ' ' : static_cast<char>(value);
  }
  out += bytes;
  return true;
}

/// One escape without its two escape characters; false when it is not known.
bool append_escape(std::string_view name, const Delimiters& d, std::string& out) {
  if (name.empty()) return false;
  if (name.size() == 1) {
    switch (name[0]) {
      case 'F':
        out += d.field;
        return true;
      case 'S':
        out += d.component;
        return true;
      case 'T':
        out += d.subcomponent;
        return true;
      case 'R':
        out += d.repetition;
        return true;
      case 'E':
        out += d.escape;
        return true;
      case 'P':
        out += d.truncation != 0 ? d.truncation : '#';
        return true;
      case 'H':
      case 'N':
        return true;
      default:
        return false;
    }
  }
  if (name[0] == 'X' || name[0] == 'x') return append_hex(name.substr(1), out);
  if (name[0] == '.') {
    out += ' ';
    return true;
  }
  return false;
}

void append_repaired(std::string_view text, std::string& out) {
  while (!text.empty()) {
    const std::size_t valid = std::min(engine::first_invalid_utf8(text), text.size());
    out += text.substr(0, valid);
    text.remove_prefix(valid);
    if (text.empty()) return;
    out += engine::kReplacement;
    text.remove_prefix(1);
  }
}

/// The escapes and shifts of a text resolved, its characters as they were sent.
struct Resolved {
  std::string text;
  std::string readable;  // the same, U+FFFD in place of what stands between shifts
  bool shifted = false;
};

/// What the escape at the start of `rest` stands for; returns its length, 0 when it is none.
std::size_t append_escape_at(std::string_view rest, const Delimiters& d, std::string& out) {
  const std::size_t close = rest.find(d.escape, 1);
  if (close == std::string_view::npos) return 0;
  return append_escape(rest.substr(1, close - 1), d, out) ? close + 1 : 0;
}

Resolved resolve(std::string_view raw, const TextCoding& coding) {
  Resolved out;
  const Delimiters& d = coding.delimiters;
  for (std::size_t i = 0; i < raw.size();) {
    const std::string_view rest = raw.substr(i);
    const Shift shift = coding.characters.shifts ? shift_at(rest, d.escape) : Shift{};
    if (shift.length > 0) {
      out.shifted = true;
      out.text += shift.bytes;
      out.text += rest.substr(shift.length, shift.pairs);
      if (shift.to_pairs) out.readable += engine::kReplacement;
      i += shift.length + shift.pairs;
      continue;
    }
    const std::size_t before = out.text.size();
    const std::size_t hidden = hidden_at(rest, d.escape, coding.characters);
    std::size_t used = 0;
    if (hidden == 0 && rest[0] == d.escape) used = append_escape_at(rest, d, out.text);
    if (used == 0) {
      used = std::max<std::size_t>(hidden, 1);
      out.text += rest.substr(0, used);
    }
    out.readable.append(out.text, before);
    i += used;
  }
  return out;
}

bool is_valid_utf8(std::string_view text) {
  return engine::first_invalid_utf8(text) == std::string_view::npos;
}

bool may_shift(std::string_view raw, const CharacterSet& characters) {
  return characters.shifts && raw.find('\x1B') != std::string_view::npos;
}

}  // namespace

void decode_into(std::string_view raw, const TextCoding& coding, std::string& out) {
  const Resolved resolved = resolve(raw, coding);
  if (!resolved.shifted && is_valid_utf8(resolved.text)) {
    out += resolved.text;
    return;
  }
  const bool known = *coding.characters.codec != 0 && coding.converter != nullptr;
  const std::optional<std::string> converted =
      known ? coding.converter->to_utf8(resolved.text, coding.characters.codec) : std::nullopt;
  if (converted) {
    out += *converted;
  } else {
    append_repaired(resolved.readable, out);
  }
}

std::string_view decode(std::string_view raw, const TextCoding& coding, engine::OrderBlock& block) {
  const bool escaped = raw.find(coding.delimiters.escape) != std::string_view::npos;
  if (!escaped && !may_shift(raw, coding.characters) &&
      (!coding.has_high_bytes || is_valid_utf8(raw)))
    return raw;
  std::string out;
  decode_into(raw, coding, out);
  return out == raw ? raw : block.keep(out);
}

namespace {

/// The letter that stands for a separator between escapes; 0 for any other byte.
char letter_for(char c, const Delimiters& d) {
  if (c == d.field) return 'F';
  if (c == d.component) return 'S';
  if (c == d.subcomponent) return 'T';
  if (c == d.repetition) return 'R';
  if (c == d.escape) return 'E';
  return d.truncation != 0 && c == d.truncation ? 'P' : '\0';
}

/// One comparison after the other without a branch: most bytes are none of them.
bool stands_for_itself(char c, const Delimiters& d) {
  return (static_cast<unsigned>(c == d.field) | static_cast<unsigned>(c == d.component) |
          static_cast<unsigned>(c == d.subcomponent) | static_cast<unsigned>(c == d.repetition) |
          static_cast<unsigned>(c == d.escape) | static_cast<unsigned>(c == d.truncation) |
          static_cast<unsigned>(byte(c) < 0x20)) == 0;
}

}  // namespace

namespace {

using Bytes [[gnu::vector_size(16)]] = unsigned char;

/// How many bytes from the start stand for themselves; most texts do to their end, which sixteen
/// at once tell.
std::size_t plain_run(std::string_view text, const Delimiters& d) {
  std::size_t plain = 0;
  for (; plain + sizeof(Bytes) <= text.size(); plain += sizeof(Bytes)) {
    Bytes bytes;
    std::memcpy(&bytes, text.data() + plain, sizeof bytes);
    const auto other = (bytes == byte(d.field)) | (bytes == byte(d.component)) |
                       (bytes == byte(d.subcomponent)) | (bytes == byte(d.repetition)) |
                       (bytes == byte(d.escape)) | (bytes == byte(d.truncation)) | (bytes < 0x20);
    std::array<std::uint64_t, 2> halves{};
    std::memcpy(halves.data(), &other, sizeof halves);
    if ((halves[0] | halves[1]) != 0) break;
  }
  while (plain < text.size() && stands_for_itself(text[plain], d))
    ++plain;
  return plain;
}

}  // namespace

void append_escaped(std::string_view text, const Delimiters& d, std::string& out) {
  while (!text.empty()) {
    const std::size_t plain = plain_run(text, d);
    out.append(text.substr(0, plain));
    if (plain == text.size()) return;
    if (const char letter = letter_for(text[plain], d); letter != '\0') {
      out += d.escape;
      out += letter;
      out += d.escape;
    } else {
      out += byte(text[plain]) < 0x20 ? ' ' : text[plain];
    }
    text.remove_prefix(plain + 1);
  }
}

}  // namespace meniscus::adapters::hl7v2
