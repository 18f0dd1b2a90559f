// See utf8.hpp.
#include "engine/base/utf8.hpp"

#include <array>
#include <bit>
#include <cstdint>
#include <cstring>

namespace meniscus::engine {
namespace {

std::uint8_t byte_at(std::string_view text, std::size_t i) {
  return static_cast<std::uint8_t>(text[i]);
}

constexpr std::uint64_t kHigh = 0x8080808080808080U;

bool eight_are_ascii(std::string_view text, std::size_t i) {
  if (text.size() - i < sizeof(std::uint64_t)) return false;
  std::uint64_t word = 0;
  std::memcpy(&word, text.data() + i, sizeof word);
  return (word & kHigh) == 0;
}

bool is_tail(std::string_view text, std::size_t i) {
  return i < text.size() && (byte_at(text, i) & 0xC0U) == 0x80U;
}

}  // namespace

std::size_t utf8_length(std::string_view text) {
  if (text.empty()) return 0;
  const std::uint8_t lead = byte_at(text, 0);
  if (lead < 0x80) return 1;
  if (lead < 0xC2 || lead > 0xF4 || !is_tail(text, 1)) return 0;
  if (lead < 0xE0) return 2;
  const std::uint8_t second = byte_at(text, 1);
  if (!is_tail(text, 2)) return 0;
  if (lead < 0xF0) {
    const bool overlong = lead == 0xE0 && second < 0xA0;
    const bool surrogate = lead == 0xED && second > 0x9F;
    return overlong || surrogate ? 0 : 3;
  }
  const bool overlong = lead == 0xF0 && second < 0x90;
  const bool too_large = lead == 0xF4 && second > 0x8F;
  return overlong || too_large || !is_tail(text, 3) ? 0 : 4;
}

std::size_t first_invalid_utf8(std::string_view text) {
  std::size_t i = 0;
  while (i < text.size()) {
    if (eight_are_ascii(text, i)) {
      i += 8;
      continue;
    }
    const std::size_t length = utf8_length(text.substr(i));
    if (length == 0) return i;
    i += length;
  }
  return std::string_view::npos;
}

std::size_t count_characters(std::string_view text) {
  // Most text is all ASCII, which four words at once tell.
  using Words = std::array<std::uint64_t, 4>;
  std::size_t inside = 0;
  std::size_t i = 0;
  for (; i + sizeof(Words) <= text.size(); i += sizeof(Words)) {
    Words words{};
    std::memcpy(words.data(), text.data() + i, sizeof words);
    if (((words[0] | words[1] | words[2] | words[3]) & kHigh) == 0) continue;
    // A byte inside a sequence has its high bit set and the next one clear.
    for (const std::uint64_t word : words)
      inside += static_cast<std::size_t>(std::popcount(word & ~(word << 1U) & kHigh));
  }
  for (; i + sizeof(std::uint64_t) <= text.size(); i += sizeof(std::uint64_t)) {
    std::uint64_t word = 0;
    std::memcpy(&word, text.data() + i, sizeof word);
    if ((word & kHigh) != 0)
      inside += static_cast<std::size_t>(std::popcount(word & ~(word << 1U) & kHigh));
  }
  for (; i < text.size(); ++i)
    inside += (byte_at(text, i) & 0xC0U) == 0x80U ? 1 : 0;
  return text.size() - inside;
}

}  // namespace meniscus::engine
