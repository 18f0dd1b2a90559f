// Contract: see wrap.hpp.
#include "adapters/report/wrap.hpp"

#include <algorithm>

#include "adapters/report/output.hpp"

namespace meniscus::adapters {

std::size_t characters(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
  }));
}

void append_wrapped(std::string& out, std::string_view text, std::size_t column,
                    std::size_t indent) {
  constexpr std::string_view kBlanks = " \t\r\n";
  bool first = true;
  for (;;) {
    const std::size_t begin = text.find_first_not_of(kBlanks);
    if (begin == std::string_view::npos) break;
    text.remove_prefix(begin);
    const std::string_view word = text.substr(0, text.find_first_of(kBlanks));
    text.remove_prefix(word.size());
    const std::size_t width = characters(word);
    if (!first && column + 1 + width > kReportWidth) {
      out += '\n';
      out.append(indent, ' ');
      column = indent;
    } else if (!first) {
      out += ' ';
      ++column;
    }
    append_plain(out, word);
    column += width;
    first = false;
  }
  out += '\n';
}

void append_line(std::string& out, std::size_t indent, std::string_view text) {
  out.append(indent, ' ');
  append_wrapped(out, text, indent, indent + 2);
}

}  // namespace meniscus::adapters
