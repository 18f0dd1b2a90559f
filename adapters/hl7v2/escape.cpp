// Decoding goes through the text once; nothing nests.
#include "adapters/hl7v2/escape.hpp"

#include <cstddef>

namespace meniscus::adapters::hl7v2 {
namespace {

constexpr std::string_view kReplacement = "\xEF\xBF\xBD";

unsigned char byte(char c) { return static_cast<unsigned char>(c); }

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  return -1;
}

/// Length of the valid UTF-8 sequence at `at`, 0 when there is none.
std::size_t sequence_length(std::string_view text, std::size_t at) {
  const unsigned char lead = byte(text[at]);
  if (lead < 0x80) return 1;
  const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
  if (lead < 0xC2 || lead > 0xF4 || at + length > text.size()) return 0;
  for (std::size_t i = 1; i < length; ++i)
    if ((byte(text[at + i]) & 0xC0U) != 0x80U) return 0;
  const unsigned char second = byte(text[at + 1]);
  if (lead == 0xE0 && second < 0xA0) return 0;
  if (lead == 0xED && second > 0x9F) return 0;
  if (lead == 0xF0 && second < 0x90) return 0;
  if (lead == 0xF4 && second > 0x8F) return 0;
  return length;
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

void append_latin1(std::string_view text, std::string& out) {
  for (const char c : text) {
    const unsigned char b = byte(c);
    if (b < 0x80) {
      out += c;
    } else {
      out += static_cast<char>(0xC0U | (b >> 6U));
      out += static_cast<char>(0x80U | (b & 0x3FU));
    }
  }
}

void append_repaired(std::string_view text, std::string& out) {
  for (std::size_t i = 0; i < text.size();) {
    const std::size_t length = sequence_length(text, i);
    if (length == 0) {
      out += kReplacement;
      ++i;
    } else {
      out += text.substr(i, length);
      i += length;
    }
  }
}

}  // namespace

bool is_valid_utf8(std::string_view text) {
  for (std::size_t i = 0; i < text.size();) {
    const std::size_t length = sequence_length(text, i);
    if (length == 0) return false;
    i += length;
  }
  return true;
}

CharacterSet character_set(std::string_view msh18, char repetition_separator) {
  const std::string_view first = Message::part(msh18, repetition_separator, 0);
  if (first.empty() || first == "ASCII" || first.find("UTF-8") != std::string_view::npos)
    return CharacterSet::Utf8;
  return first == "8859/1" || first == "8859/15" ? CharacterSet::Latin1 : CharacterSet::Other;
}

void decode_into(std::string_view raw, const TextCoding& coding, std::string& out) {
  std::string text;
  const char escape = coding.delimiters.escape;
  std::size_t i = 0;
  while (i < raw.size()) {
    const std::size_t open = raw.find(escape, i);
    const std::size_t close = open == std::string_view::npos ? open : raw.find(escape, open + 1);
    if (close == std::string_view::npos) break;
    text += raw.substr(i, open - i);
    if (append_escape(raw.substr(open + 1, close - open - 1), coding.delimiters, text)) {
      i = close + 1;
    } else {
      text += escape;
      i = open + 1;
    }
  }
  text += raw.substr(i);
  if (is_valid_utf8(text)) {
    out += text;
  } else if (coding.characters == CharacterSet::Latin1) {
    append_latin1(text, out);
  } else {
    append_repaired(text, out);
  }
}

std::string_view decode(std::string_view raw, const TextCoding& coding, engine::OrderBlock& block) {
  const bool escaped = raw.find(coding.delimiters.escape) != std::string_view::npos;
  if (!escaped && (!coding.has_high_bytes || is_valid_utf8(raw))) return raw;
  std::string out;
  decode_into(raw, coding, out);
  return out == raw ? raw : block.keep(out);
}

void append_escaped(std::string_view text, const Delimiters& d, std::string& out) {
  const auto escape = [&](char name) {
    out += d.escape;
    out += name;
    out += d.escape;
  };
  for (const char c : text) {
    if (c == d.field) {
      escape('F');
    } else if (c == d.component) {
      escape('S');
    } else if (c == d.subcomponent) {
      escape('T');
    } else if (c == d.repetition) {
      escape('R');
    } else if (c == d.escape) {
      escape('E');
    } else if (d.truncation != 0 && c == d.truncation) {
      escape('P');
    } else {
      out += byte(c) < 0x20 ? ' ' : c;
    }
  }
}

}  // namespace meniscus::adapters::hl7v2
