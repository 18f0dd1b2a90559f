// Bytes that somebody else holds, as a source to read from.
#pragma once

#include <algorithm>
#include <string_view>

#include "engine/ports/byte_source.hpp"

namespace meniscus::adapters {

/// The bytes must outlive the reading.
class ViewBytes final : public engine::ByteSource {
 public:
  ViewBytes() = default;
  explicit ViewBytes(std::string_view bytes) : left_(bytes) {}

  /// What is read from now on.
  void set(std::string_view bytes) { left_ = bytes; }
  [[nodiscard]] engine::Result<std::size_t> read(char* into, std::size_t size) override {
    const std::size_t count = std::min(size, left_.size());
    std::copy_n(left_.begin(), count, into);
    left_.remove_prefix(count);
    return count;
  }

 private:
  std::string_view left_;
};

}  // namespace meniscus::adapters
