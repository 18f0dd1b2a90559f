// One step of unpacking: what compressed_bytes.cpp needs from a compression library.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <string_view>

namespace meniscus::adapters {

enum class CodecFault : std::uint8_t {
  None,
  Damaged,
  Trailing,    // something else behind a whole member or frame
  Window,      // Zstandard: needs more memory than kLargestWindow
  Dictionary,  // Zstandard: needs a dictionary, which is not in the data
  Memory       // the system has none left
};

/// What one step() did.
struct Unpacking {
  std::size_t taken = 0;
  std::size_t given = 0;
  bool open = false;  // within a member or frame: more has to come
  CodecFault fault = CodecFault::None;
};

class Codec {
 public:
  static constexpr unsigned kLargestWindow = 27;  // 128 MiB; what `zstd` itself takes unasked

  Codec() = default;
  Codec(const Codec&) = delete;
  Codec& operator=(const Codec&) = delete;
  virtual ~Codec() = default;

  /// Unpacks from `packed` into `size` bytes at `into`, as far as either goes.
  [[nodiscard]] virtual Unpacking step(std::string_view packed, char* into, std::size_t size) = 0;
  /// For errors.
  [[nodiscard]] virtual std::string_view name() const = 0;
};

std::unique_ptr<Codec> make_gzip_codec();
std::unique_ptr<Codec> make_zstd_codec();

}  // namespace meniscus::adapters
