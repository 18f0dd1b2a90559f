// See source_text.hpp.  Lines end with \n or \r\n; a lone \r is an ordinary character.
#include "engine/base/source_text.hpp"

#include <algorithm>
#include <utility>

#include "engine/base/utf8.hpp"

namespace meniscus::engine {

SourceText::SourceText(std::string name, std::string text)
    : name_(std::move(name)), text_(std::move(text)) {
  starts_.push_back(0);
  for (std::size_t at = text_.find('\n'); at != std::string::npos; at = text_.find('\n', at + 1)) {
    starts_.push_back(static_cast<std::uint32_t>(at + 1));
  }
}

std::string_view SourceText::slice(Span span) const {
  const std::string_view all = text_;
  const std::size_t begin = std::min<std::size_t>(span.begin, all.size());
  const std::size_t end = std::clamp<std::size_t>(span.end, begin, all.size());
  return all.substr(begin, end - begin);
}

LineColumn SourceText::locate(std::uint32_t offset) const {
  const auto size = static_cast<std::uint32_t>(text_.size());
  const std::uint32_t at = std::min(offset, size);
  const auto after = std::upper_bound(starts_.begin(), starts_.end(), at);
  const auto line = static_cast<std::uint32_t>(after - starts_.begin());
  const std::uint32_t start = starts_[line - 1];
  const std::size_t before = count_characters(slice({start, at}));
  return {line, static_cast<std::uint32_t>(before + 1)};
}

std::string_view SourceText::line(std::uint32_t line) const {
  const auto size = static_cast<std::uint32_t>(text_.size());
  const std::uint32_t end = line < line_count() ? starts_[line] - 1 : size;
  std::string_view text = slice({starts_[line - 1], end});
  if (text.ends_with('\r')) text.remove_suffix(1);
  return text;
}

}  // namespace meniscus::engine
