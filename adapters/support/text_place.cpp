// Working out a place only when somebody asks for it (contract: text_place.hpp).
#include "adapters/support/text_place.hpp"

#include <algorithm>
#include <cstring>

#include "engine/base/utf8.hpp"

namespace meniscus::adapters {
namespace {

constexpr std::size_t kShownBefore = 50;  // characters of the line before the place
constexpr std::size_t kShown = 100;
constexpr std::string_view kCut = "...";
constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";

bool is_middle(char c) { return (static_cast<unsigned char>(c) & 0xC0U) == 0x80U; }

/// Moves `at` back by up to `characters`, not below 0.
std::size_t back_by(std::string_view line, std::size_t at, std::size_t characters) {
  while (at > 0 && characters > 0) {
    --at;
    if (!is_middle(line[at])) --characters;
  }
  return at;
}
std::size_t forward_by(std::string_view line, std::size_t at, std::size_t characters) {
  while (at < line.size() && characters > 0) {
    ++at;
    if (at == line.size() || !is_middle(line[at])) --characters;
  }
  return at;
}

std::string without_controls(std::string_view text) {
  std::string clean(text);
  for (char& c : clean)
    if (static_cast<unsigned char>(c) < 0x20U || c == 0x7F) c = ' ';
  return clean;
}

/// Where a place stands on its line.
struct OnLine {
  std::size_t start = 0;   // of the line, in the window
  std::size_t column = 0;  // bytes from there
  bool whole = false;      // the line starts in the window
};

OnLine on_line(const engine::RecordInfo& record, const TextWindow& window, engine::Origin origin) {
  const std::size_t offset = std::min<std::size_t>(origin.offset, record.text.size());
  const std::size_t at =
      static_cast<std::size_t>(record.text.data() - window.bytes.data()) + offset;
  // Not rfind(), which looks at one byte at a time.
  const void* const found = ::memrchr(window.bytes.data(), '\n', at);
  if (found == nullptr) {
    // The mark in front of an input is no character of its first line.
    const bool marked = window.characters_before == 0 && window.bytes.starts_with(kByteOrderMark);
    const std::size_t start = marked && at >= kByteOrderMark.size() ? kByteOrderMark.size() : 0;
    return {start, at - start, false};
  }
  const auto newline =
      static_cast<std::size_t>(static_cast<const char*>(found) - window.bytes.data());
  return {newline + 1, at - newline - 1, true};
}

}  // namespace

void set_text_position(const engine::RecordInfo& record, const TextWindow& window,
                       engine::Origin origin, engine::Place& place) {
  const OnLine at = on_line(record, window, origin);
  place.line = record.line;
  const char* const line = window.bytes.data() + at.start;
  if (line > record.text.data())
    place.line += static_cast<std::uint64_t>(std::count(record.text.data(), line, '\n'));
  place.column = engine::count_characters({line, at.column}) + 1;
  if (!at.whole) place.column += window.characters_before;
}

engine::Place text_place(const engine::RecordInfo& record, const TextWindow& window,
                         engine::Origin origin) {
  engine::Place place;
  set_text_position(record, window, origin, place);
  const OnLine at = on_line(record, window, origin);
  const std::size_t end = window.bytes.find('\n', at.start + at.column);
  std::string_view line =
      window.bytes.substr(at.start, end == std::string_view::npos ? end : end - at.start);
  if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
  const std::size_t column = std::min(at.column, line.size());

  const std::size_t from = back_by(line, column, kShownBefore);
  const std::size_t to = forward_by(line, from, kShown);
  if (from > 0) place.excerpt = kCut;
  place.excerpt += without_controls(line.substr(from, to - from));
  if (to < line.size()) place.excerpt += kCut;
  place.caret = static_cast<std::uint32_t>(
      (from > 0 ? kCut.size() : 0) + engine::count_characters(line.substr(from, column - from)));
  const std::size_t last = std::min(column + origin.length, to);
  const std::size_t width =
      last > column ? engine::count_characters(line.substr(column, last - column)) : 0;
  place.width = static_cast<std::uint32_t>(std::max<std::size_t>(width, 1));
  return place;
}

}  // namespace meniscus::adapters
