// A hash of bytes for tables in memory: quick, of this run only (never stored, see word_hash()).
#pragma once

#include <algorithm>
#include <bit>
#include <cstdint>
#include <cstring>
#include <string_view>

namespace meniscus::engine {

/// Never 0, so that 0 can mark an empty entry.  The upper bits are the best mixed.
inline std::uint64_t bytes_hash(std::string_view text) {
  constexpr std::uint64_t kStep = 0xD6E8FEB86659FD93U;
  std::uint64_t hash = text.size() * kStep;
  const char* at = text.data();
  std::size_t left = text.size();
  for (; left >= 8; left -= 8, at += 8) {
    std::uint64_t word = 0;
    std::memcpy(&word, at, sizeof word);
    hash = (std::rotl(hash, 23) ^ word) * kStep;
  }
  std::uint64_t rest = 0;
  for (std::size_t i = 0; i < left; ++i)
    rest = rest << 8U | static_cast<unsigned char>(at[i]);
  hash = (std::rotl(hash, 23) ^ rest) * kStep;
  hash ^= hash >> 32U;
  return (hash * kStep) | 1U;
}

}  // namespace meniscus::engine
