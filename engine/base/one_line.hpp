// Text of rule files for people: without its comments, and several lines as one.
#pragma once

#include <string>
#include <string_view>

#include "engine/base/ascii.hpp"

namespace meniscus::engine {

/// The text without its comments (`#` outside quotes, to the end of its line).
inline std::string without_comments(std::string_view rules) {
  std::string plain;
  bool quoted = false;
  bool comment = false;
  char before = 0;
  for (const char c : rules) {
    if (c == '\n') quoted = comment = false;  // a text stands on one line
    if (c == '"' && !comment && !(quoted && before == '\\')) quoted = !quoted;
    if (c == '#' && !quoted) comment = true;
    if (!comment) plain += c;
    before = before == '\\' ? '\0' : c;  // of two backslashes the second escapes nothing
  }
  return plain;
}

/// Without comments; one blank for each run of blanks and line ends, none at the end.
inline std::string on_one_line(std::string_view rules) {
  std::string out;
  for (const char c : without_comments(rules)) {
    const bool blank = ascii::is_blank(c) || c == '\n' || c == '\r';
    if (!blank) {
      out += c;
    } else if (!out.empty() && out.back() != ' ') {
      out += ' ';
    }
  }
  if (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

}  // namespace meniscus::engine
