// A text as the input of a reader, handed out in pieces of a chosen size.
#pragma once

#include <string>
#include <utility>

#include "adapters/input/byte_sources.hpp"

namespace meniscus::testing {

inline engine::Input text_input(std::string text, std::size_t piece = 1U << 20U) {
  return {"-", adapters::memory_bytes(std::move(text), piece), 0};
}

}  // namespace meniscus::testing
