// What a service says of itself, line by line.  No line holds a byte of a message, at any level.
#pragma once

#include <cstdint>
#include <functional>
#include <string_view>

namespace meniscus::adapters {

enum class LineLevel : std::uint8_t { Debug, Info, Warn, Error };

struct ServiceLog {
  LineLevel least = LineLevel::Warn;
  std::function<void(LineLevel, std::string_view)> write;  // null: nobody listens

  [[nodiscard]] bool wants(LineLevel level) const { return write != nullptr && level >= least; }
  void operator()(LineLevel level, std::string_view text) const {
    if (wants(level)) write(level, text);
  }
};

}  // namespace meniscus::adapters
