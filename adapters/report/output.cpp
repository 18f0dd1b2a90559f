// Contract: see output.hpp.
#include "adapters/report/output.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>
#include <utility>
#ifdef __SSE2__
#include <emmintrin.h>
#endif

#include "engine/base/utf8.hpp"

namespace meniscus::adapters {

namespace {
/// What a byte needs inside a JSON string: 0 as it stands, 1 an escape, 2 a UTF-8 sequence.
constexpr std::array<std::uint8_t, 256> kByteClass = [] {
  std::array<std::uint8_t, 256> table{};
  for (std::size_t i = 0; i < 256; ++i) {
    if (i < 0x20 || i == '"' || i == '\\' || i == 0x7F) table[i] = 1;
    if (i >= 0x80) table[i] = 2;
  }
  return table;
}();

std::uint8_t byte_class(char c) { return kByteClass[static_cast<unsigned char>(c)]; }

void append_escape(std::string& out, char c) {
  constexpr std::string_view kHex = "0123456789abcdef";
  switch (c) {
    case '"':
      out += "\\\"";
      return;
    case '\\':
      out += "\\\\";
      return;
    case '\n':
      out += "\\n";
      return;
    case '\r':
      out += "\\r";
      return;
    case '\t':
      out += "\\t";
      return;
    default:
      break;
  }
  const auto byte = static_cast<unsigned char>(c);
  out += "\\u00";
  out += kHex[byte >> 4U];
  out += kHex[byte & 15U];
}

/// Appends the sequence at `from` or its replacement; returns the bytes used.
std::size_t append_sequence(std::string& out, std::string_view rest) {
  const std::size_t length = engine::utf8_length(rest);
  if (length == 0) {
    out += engine::kReplacement;
    return 1;
  }
  out.append(rest.substr(0, length));
  return length;
}

#ifdef __SSE2__
/// A bit for each of 16 bytes that cannot be copied as it stands.
unsigned stops_in(__m128i bytes) {
  const __m128i quote = _mm_cmpeq_epi8(bytes, _mm_set1_epi8('"'));
  const __m128i slash = _mm_cmpeq_epi8(bytes, _mm_set1_epi8('\\'));
  const __m128i erase = _mm_cmpeq_epi8(bytes, _mm_set1_epi8(0x7F));
  const __m128i other = _mm_cmplt_epi8(bytes, _mm_set1_epi8(0x20));  // bytes have signs here
  return static_cast<unsigned>(
      _mm_movemask_epi8(_mm_or_si128(_mm_or_si128(quote, slash), _mm_or_si128(erase, other))));
}

/// A short text in one register: its first and its last bytes, which may be the same ones.
template <class Half>
__m128i both_ends(std::string_view text) {
  Half first{};
  Half last{};
  std::memcpy(&first, text.data(), sizeof first);
  std::memcpy(&last, text.data() + text.size() - sizeof last, sizeof last);
  return _mm_set_epi64x(static_cast<long long>(first), static_cast<long long>(last));
}

/// All of a text of 4 to 15 bytes can be copied.
bool is_short_and_plain(std::string_view text) {
  constexpr std::uint64_t kBlanks = 0x2020202000000000U;  // above four bytes: nothing that stops
  if (text.size() >= sizeof(std::uint64_t)) return stops_in(both_ends<std::uint64_t>(text)) == 0;
  const __m128i ends = both_ends<std::uint32_t>(text);
  const auto blanks = static_cast<long long>(kBlanks);
  return stops_in(_mm_or_si128(ends, _mm_set1_epi64x(blanks))) == 0;
}
#endif

/// Bytes at the start of `rest` that can be copied as they stand.
std::size_t plain_run(std::string_view rest) {
  std::size_t at = 0;
#ifdef __SSE2__
  for (; at + sizeof(__m128i) <= rest.size(); at += sizeof(__m128i)) {
    __m128i bytes;
    std::memcpy(&bytes, rest.data() + at, sizeof bytes);
    const unsigned stops = stops_in(bytes);
    if (stops != 0) return at + static_cast<std::size_t>(std::countr_zero(stops));
  }
  // Most texts are plain to their end, so that is asked before byte by byte.
  const std::string_view left = rest.substr(at);
  if (left.size() >= sizeof(std::uint32_t) && is_short_and_plain(left)) return rest.size();
#endif
  while (at < rest.size() && byte_class(rest[at]) == 0)
    ++at;
  return at;
}

/// U+0080 to U+009F: control characters too.
bool is_second_control(std::string_view rest) {
  return rest.size() > 1 && rest[0] == '\xC2' && static_cast<unsigned char>(rest[1]) < 0xA0;
}
}  // namespace

Output::Output(WriteBytes write) : write_(std::move(write)), status_(engine::Done{}) {}

void Output::flush() {
  if (text_.empty()) return;
  if (status_) status_ = write_(text_);
  text_.clear();
}

engine::Status Output::finish() {
  flush();
  return status_;
}

/// By hand: std::to_chars counts the digits first.
void append_number(std::string& out, std::uint64_t number) {
  std::array<char, 20> digits;  // from the end
  std::size_t at = digits.size();
  do {
    digits[--at] = static_cast<char>('0' + number % 10);
    number /= 10;
  } while (number != 0);
  out.append(digits.data() + at, digits.size() - at);
}

std::string grouped(std::uint64_t number) {
  std::string digits = std::to_string(number);
  for (std::size_t at = digits.size(); at > 3; at -= 3)
    digits.insert(at - 3, ",");
  return digits;
}

void append_json(std::string& out, std::string_view text) {
  out += '"';
  while (!text.empty()) {
    const std::size_t run = plain_run(text);
    out.append(text.substr(0, run));
    text.remove_prefix(run);
    if (text.empty()) break;
    std::size_t used = 1;
    if (byte_class(text[0]) == 1) {
      append_escape(out, text[0]);
    } else {
      used = append_sequence(out, text);
    }
    text.remove_prefix(used);
  }
  out += '"';
}

void append_key(std::string& out, std::string_view key, std::string_view text) {
  out += ",\"";
  out += key;
  out += "\":";
  append_json(out, text);
}

void append_plain(std::string& out, std::string_view text) {
  while (!text.empty()) {
    const auto byte = static_cast<unsigned char>(text[0]);
    std::size_t used = 1;
    if (byte < 0x20 || byte == 0x7F) {
      out += ' ';
    } else if (byte < 0x80) {
      out += text[0];
    } else if (is_second_control(text)) {
      out += ' ';
      used = 2;
    } else {
      used = append_sequence(out, text);
    }
    text.remove_prefix(used);
  }
}

}  // namespace meniscus::adapters
