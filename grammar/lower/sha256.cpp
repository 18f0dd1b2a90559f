// SHA-256 after FIPS 180-4, sections 4.1.2, 4.2.2 and 6.2.
#include "grammar/lower/sha256.hpp"

#include <algorithm>
#include <bit>

namespace meniscus::grammar {
namespace {

// The first 32 bits of the fractional parts of the cube roots of the first 64 primes.
constexpr std::array<std::uint32_t, 64> kRound = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

}  // namespace

void Sha256::update(std::string_view bytes) {
  length_ += bytes.size();
  while (!bytes.empty()) {
    const std::size_t taken = std::min(bytes.size(), block_.size() - used_);
    std::transform(bytes.begin(), bytes.begin() + static_cast<std::ptrdiff_t>(taken),
                   block_.begin() + static_cast<std::ptrdiff_t>(used_),
                   [](char c) { return static_cast<std::uint8_t>(c); });
    used_ += taken;
    bytes.remove_prefix(taken);
    if (used_ == block_.size()) compress();
  }
}

void Sha256::compress() {
  used_ = 0;
  std::array<std::uint32_t, 64> w{};
  for (std::size_t t = 0; t < 16; ++t) {
    w[t] = std::uint32_t{block_[4 * t]} << 24U | std::uint32_t{block_[4 * t + 1]} << 16U |
           std::uint32_t{block_[4 * t + 2]} << 8U | std::uint32_t{block_[4 * t + 3]};
  }
  for (std::size_t t = 16; t < 64; ++t) {
    const std::uint32_t a = w[t - 15];
    const std::uint32_t b = w[t - 2];
    const std::uint32_t s0 = std::rotr(a, 7) ^ std::rotr(a, 18) ^ a >> 3U;
    const std::uint32_t s1 = std::rotr(b, 17) ^ std::rotr(b, 19) ^ b >> 10U;
    w[t] = w[t - 16] + s0 + w[t - 7] + s1;
  }
  std::array<std::uint32_t, 8> v = state_;
  // The working variables stay where they are: from round to round their names move on by one.
  const auto round = [&](std::size_t t, std::uint32_t& a, std::uint32_t b, std::uint32_t c,
                         std::uint32_t& d, std::uint32_t e, std::uint32_t f, std::uint32_t g,
                         std::uint32_t& h) {
    const std::uint32_t s1 = std::rotr(e, 6) ^ std::rotr(e, 11) ^ std::rotr(e, 25);
    const std::uint32_t t1 = h + s1 + ((e & f) ^ (~e & g)) + kRound[t] + w[t];
    const std::uint32_t s0 = std::rotr(a, 2) ^ std::rotr(a, 13) ^ std::rotr(a, 22);
    d += t1;
    h = t1 + s0 + ((a & b) ^ (a & c) ^ (b & c));
  };
  for (std::size_t t = 0; t < 64; t += 8) {
    round(t, v[0], v[1], v[2], v[3], v[4], v[5], v[6], v[7]);
    round(t + 1, v[7], v[0], v[1], v[2], v[3], v[4], v[5], v[6]);
    round(t + 2, v[6], v[7], v[0], v[1], v[2], v[3], v[4], v[5]);
    round(t + 3, v[5], v[6], v[7], v[0], v[1], v[2], v[3], v[4]);
    round(t + 4, v[4], v[5], v[6], v[7], v[0], v[1], v[2], v[3]);
    round(t + 5, v[3], v[4], v[5], v[6], v[7], v[0], v[1], v[2]);
    round(t + 6, v[2], v[3], v[4], v[5], v[6], v[7], v[0], v[1]);
    round(t + 7, v[1], v[2], v[3], v[4], v[5], v[6], v[7], v[0]);
  }
  for (std::size_t i = 0; i < state_.size(); ++i)
    state_[i] += v[i];
}

std::string Sha256::finish() {
  const std::uint64_t bits = length_ * 8;
  update(std::string_view("\x80", 1));
  while (used_ != 56)
    update(std::string_view("\0", 1));
  std::string length;
  for (unsigned shift = 64; shift > 0; shift -= 8) {
    length += static_cast<char>(bits >> (shift - 8) & 0xFFU);
  }
  update(length);
  static constexpr std::string_view kDigits = "0123456789abcdef";
  std::string text;
  for (const std::uint32_t word : state_) {
    for (unsigned shift = 32; shift > 0; shift -= 4)
      text += kDigits[word >> (shift - 4) & 0xFU];
  }
  return text;
}

}  // namespace meniscus::grammar
