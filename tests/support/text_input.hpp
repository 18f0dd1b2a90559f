// A text as the input of a reader, handed out in pieces of a chosen size.
#pragma once

#include <algorithm>
#include <cstring>
#include <memory>
#include <string>

#include "engine/ports/byte_source.hpp"

namespace meniscus::testing {

class TextBytes : public engine::ByteSource {
 public:
  TextBytes(std::string text, std::size_t piece) : text_(std::move(text)), piece_(piece) {}
  engine::Result<std::size_t> read(char* into, std::size_t size) override {
    const std::size_t count = std::min({size, piece_, text_.size() - position_});
    std::memcpy(into, text_.data() + position_, count);
    position_ += count;
    return count;
  }

 private:
  std::string text_;
  std::size_t piece_;
  std::size_t position_ = 0;
};

inline engine::Input text_input(std::string text, std::size_t piece = 1U << 20U) {
  return {"-", std::make_unique<TextBytes>(std::move(text), piece), 0};
}

}  // namespace meniscus::testing
