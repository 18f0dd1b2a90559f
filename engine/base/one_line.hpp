// Text of several lines as one.
#pragma once

#include <string>
#include <string_view>

#include "engine/base/ascii.hpp"

namespace meniscus::engine {

/// One blank for each run of blanks and line ends.
inline std::string on_one_line(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const bool blank = ascii::is_blank(c) || c == '\n' || c == '\r';
    if (!blank) {
      out += c;
    } else if (!out.empty() && out.back() != ' ') {
      out += ' ';
    }
  }
  return out;
}

}  // namespace meniscus::engine
