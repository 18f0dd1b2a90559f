// Byte by byte, without a copy of the text.
#include "engine/eval/text_search.hpp"

#include <array>
#include <cstddef>

namespace meniscus::engine {
namespace {

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

/// Letters, digits and every byte of a character beyond ASCII: parts of words.
constexpr std::array<bool, 256> kInWord = [] {
  std::array<bool, 256> table{};
  for (std::size_t c = 0; c < table.size(); ++c) {
    table[c] =
        (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c >= 128;
  }
  return table;
}();
bool in_word(char c) { return kInWord[static_cast<unsigned char>(c)]; }

bool equal_at(std::string_view text, std::size_t at, std::string_view part) {
  for (std::size_t i = 0; i < part.size(); ++i) {
    if (lower(text[at + i]) != lower(part[i])) return false;
  }
  return true;
}

/// The bit of the word, or of the sign, that begins at `at`.
std::uint64_t bit_at(std::string_view text, std::size_t at) {
  std::uint32_t code = in_word(text[at]) ? 0 : static_cast<unsigned char>(text[at]);
  for (std::size_t i = 0; i < 3 && at + i < text.size() && in_word(text[at + i]); ++i) {
    code = code * 257 + static_cast<unsigned char>(lower(text[at + i])) + 1;
  }
  return std::uint64_t{1} << ((code * 2654435761U) >> 26U);
}

}  // namespace

bool same_text(std::string_view a, std::string_view b) {
  return a.size() == b.size() && equal_at(a, 0, b);
}

bool has_words(std::string_view text, std::string_view part) {
  if (part.empty() || part.size() > text.size()) return false;
  const char first = lower(part.front());
  const bool open = !in_word(part.front());  // `.5` need not begin at a word's edge
  const bool shut = !in_word(part.back());
  for (std::size_t at = 0; at + part.size() <= text.size(); ++at) {
    if (lower(text[at]) != first || !equal_at(text, at, part)) continue;
    const std::size_t end = at + part.size();
    const bool left = open || at == 0 || !in_word(text[at - 1]);
    const bool right = shut || end == text.size() || !in_word(text[end]);
    if (left && right) return true;
  }
  return false;
}

std::uint64_t first_word_bit(std::string_view part) {
  return part.empty() || part.front() == ' ' ? 0 : bit_at(part, 0);
}

std::uint64_t word_bits(std::string_view text) {
  std::uint64_t bits = 0;
  bool inside = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool word = in_word(text[i]);
    if (word ? !inside : text[i] != ' ') bits |= bit_at(text, i);
    inside = word;
  }
  return bits;
}

}  // namespace meniscus::engine
