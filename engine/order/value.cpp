// The hash of a word's normal form (contract: value.hpp).
//
// Shape: one pass; normalised bytes are packed eight at a time and mixed by a 64 x 64 -> 128 bit
//        multiplication.  No allocation.  The same on every machine: hashes are stored by history.
#include "engine/order/value.hpp"

#include <array>

namespace meniscus::engine {
namespace {

constexpr std::uint64_t kSeed = 0x9E3779B97F4A7C15;
constexpr std::uint64_t kStep = 0xE7037ED1A0B428DB;

constexpr std::array<unsigned char, 256> kNormal = [] {
  std::array<unsigned char, 256> table{};
  for (unsigned i = 0; i < 256; ++i) {
    const bool upper = i >= 'A' && i <= 'Z';
    const bool blank = i == ' ' || i == '_' || (i >= '\t' && i <= '\r');
    table[i] = static_cast<unsigned char>(blank ? '-' : upper ? i + ('a' - 'A') : i);
  }
  return table;
}();

std::uint64_t mix(std::uint64_t a, std::uint64_t b) {
  __extension__ using Wide = unsigned __int128;
  const Wide product = static_cast<Wide>(a) * b;
  return static_cast<std::uint64_t>(product) ^ static_cast<std::uint64_t>(product >> 64);
}

unsigned char normal(char c) { return kNormal[static_cast<unsigned char>(c)]; }

}  // namespace

Word word_hash(std::string_view text) {
  while (!text.empty() && normal(text.front()) == '-')
    text.remove_prefix(1);
  while (!text.empty() && normal(text.back()) == '-')
    text.remove_suffix(1);
  std::uint64_t hash = kSeed;
  std::uint64_t chunk = 0;
  std::uint64_t length = 0;
  unsigned char before = 0;
  for (const char raw : text) {
    const unsigned char c = normal(raw);
    if (c == '-' && before == '-') continue;  // a run of blanks is one hyphen
    before = c;
    chunk |= static_cast<std::uint64_t>(c) << (8 * (length & 7U));
    if ((++length & 7U) != 0) continue;
    hash = mix(hash ^ chunk, kStep);
    chunk = 0;
  }
  hash = mix(mix(hash ^ chunk, kStep) ^ length, kSeed);
  return hash == kNoWord ? 1 : hash;
}

}  // namespace meniscus::engine
