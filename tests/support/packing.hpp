// Compressed bytes for tests, made by the libraries themselves (zlib, libzstd).
#pragma once

#include <zlib.h>
#include <zstd.h>

#include <string>
#include <string_view>

namespace meniscus::tests {

/// One gzip member (RFC 1952).
inline std::string gzipped(std::string_view text) {
  constexpr int kGzip = MAX_WBITS + 16;
  constexpr int kMemory = 8;
  z_stream stream{};
  deflateInit2(&stream, Z_DEFAULT_COMPRESSION, Z_DEFLATED, kGzip, kMemory, Z_DEFAULT_STRATEGY);
  std::string packed(deflateBound(&stream, text.size()), '\0');
  // NOLINTNEXTLINE(*-const-cast,*-reinterpret-cast): zlib's interface
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(text.data()));
  stream.avail_in = static_cast<uInt>(text.size());
  stream.next_out = reinterpret_cast<Bytef*>(packed.data());  // NOLINT(*-reinterpret-cast)
  stream.avail_out = static_cast<uInt>(packed.size());
  deflate(&stream, Z_FINISH);
  packed.resize(stream.total_out);
  deflateEnd(&stream);
  return packed;
}

/// One Zstandard frame (RFC 8878), with a checksum as the tool `zstd` writes it.
inline std::string zstd_packed(std::string_view text) {
  ZSTD_CCtx* const context = ZSTD_createCCtx();
  ZSTD_CCtx_setParameter(context, ZSTD_c_checksumFlag, 1);
  std::string packed(ZSTD_compressBound(text.size()), '\0');
  packed.resize(ZSTD_compress2(context, packed.data(), packed.size(), text.data(), text.size()));
  ZSTD_freeCCtx(context);
  return packed;
}

/// A skippable frame: its magic number (the lowest), the length in four bytes, the content.
inline std::string skippable(std::string_view content) {
  std::string frame = "\x50\x2A\x4D\x18";
  for (unsigned shift = 0; shift < 32; shift += 8)
    frame += static_cast<char>(content.size() >> shift & 0xFFU);
  return frame.append(content);
}

}  // namespace meniscus::tests
