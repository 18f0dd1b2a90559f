// A window over a byte source: the unread bytes in one piece of memory, with room behind them.
//
// Use:      records are cut from bytes(); consume() them; more() drops what was consumed and reads
//           on.  Only more() moves memory, so views into bytes() live until then.
// Padding:  kPadding bytes behind the last one may be read and are zero (simdjson asks for that).
// Growth:   one chunk, doubled while a record does not fit, up to `limit`.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string_view>

#include "engine/ports/byte_source.hpp"

namespace meniscus::adapters {

class ChunkBuffer {
 public:
  static constexpr std::size_t kChunk = std::size_t{256} << 10U;
  static constexpr std::size_t kPadding = 128;

  explicit ChunkBuffer(std::unique_ptr<engine::ByteSource> source, std::size_t chunk = kChunk);

  /// What has been read and not been consumed.
  [[nodiscard]] std::string_view bytes() const { return {data_.get() + begin_, end_ - begin_}; }
  /// All that is in memory, consumed or not: for showing the line around a place.
  [[nodiscard]] std::string_view window() const { return {data_.get(), end_}; }
  /// Characters on the window's first line that stand before the window.
  [[nodiscard]] std::uint64_t characters_before() const { return characters_before_; }
  /// Of the first byte of bytes(), in the input.
  [[nodiscard]] std::uint64_t offset() const { return dropped_ + begin_; }

  void consume(std::size_t count) { begin_ += count; }
  /// Reads more, at least one byte.  False at the end, or when reading failed.
  bool more();
  [[nodiscard]] bool ended() const { return ended_; }
  /// Why reading stopped before the end.
  [[nodiscard]] const std::optional<engine::Error>& error() const { return error_; }

 private:
  void drop_consumed();
  void grow();

  std::unique_ptr<engine::ByteSource> source_;
  std::unique_ptr<char[]> data_;  // NOLINT(*-avoid-c-arrays): never initialised, unlike a vector
  std::size_t capacity_;
  std::size_t begin_ = 0;
  std::size_t end_ = 0;
  std::uint64_t dropped_ = 0;
  std::uint64_t characters_before_ = 0;
  bool ended_ = false;
  std::optional<engine::Error> error_;
};

}  // namespace meniscus::adapters
