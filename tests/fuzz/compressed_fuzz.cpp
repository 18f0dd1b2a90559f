// Fuzz target: compressed input, damaged in any way and in pieces of any size; and the round trip.
//
// Input:    the first byte is the size of the pieces, the rest is the input.
// Property: nothing crashes, and the pieces make no difference to whether the data are whole, nor,
//           where they are, to what they hold; of damaged data one reading begins like the other.
//           The input as a text, packed in two parts, comes back.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "adapters/input/byte_sources.hpp"
#include "adapters/input/compressed_bytes.hpp"
#include "tests/support/packing.hpp"

namespace {

constexpr std::size_t kEnough = std::size_t{4} << 20U;  // a few bytes can hold gigabytes

struct Unpacked {
  std::string text;
  bool failed = false;
};

Unpacked unpack(std::string packed, std::size_t piece, std::size_t size) {
  using namespace meniscus::adapters;  // NOLINT(google-build-using-namespace): one function
  const auto source = unpacked_bytes(memory_bytes(std::move(packed), piece), "-");
  Unpacked all;
  std::string room(size, '\0');
  while (all.text.size() < kEnough) {
    const auto got = source->read(room.data(), room.size());
    all.failed = !got;
    if (!got || *got == 0) break;
    all.text.append(room, 0, *got);
  }
  return all;
}

void check_pieces(const std::string& packed, std::size_t piece) {
  const Unpacked whole = unpack(packed, packed.size() + 1, std::size_t{1} << 16U);
  const Unpacked pieces = unpack(packed, piece, 1 + piece * 7);
  const std::size_t both = std::min(whole.text.size(), pieces.text.size());
  if (whole.text.compare(0, both, pieces.text, 0, both) != 0) __builtin_trap();
  if (both >= kEnough) return;
  if (whole.failed != pieces.failed) __builtin_trap();
  if (!whole.failed && whole.text.size() != pieces.text.size()) __builtin_trap();
}

void check_round_trip(const std::string& text, std::size_t piece) {
  const std::size_t cut = piece % (text.size() + 1);
  for (const auto pack : {meniscus::tests::gzipped, meniscus::tests::zstd_packed}) {
    const Unpacked back = unpack(pack(text.substr(0, cut)) + pack(text.substr(cut)), piece, 512);
    if (back.failed || back.text != text) __builtin_trap();
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::size_t piece = 1 + data[0];
  // NOLINTNEXTLINE(*-reinterpret-cast): bytes as text
  const std::string text(reinterpret_cast<const char*>(data) + 1, size - 1);
  check_pieces(text, piece);
  check_round_trip(text, piece);
  return 0;
}
