// Working out a place only when somebody asks for it (contract: text_place.hpp).
#include "adapters/support/text_place.hpp"

#include <algorithm>

#include "engine/base/utf8.hpp"

namespace meniscus::adapters {
namespace {

constexpr std::size_t kShownBefore = 50;  // characters of the line before the place
constexpr std::size_t kShown = 100;
constexpr std::string_view kCut = "...";

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

}  // namespace

engine::Place text_place(const engine::RecordInfo& record, const TextWindow& window,
                         engine::Origin origin) {
  engine::Place place;
  const std::string_view text = record.text;
  const std::size_t offset = std::min<std::size_t>(origin.offset, text.size());
  place.line =
      record.line + static_cast<std::uint64_t>(std::count(
                        text.begin(), text.begin() + static_cast<std::ptrdiff_t>(offset), '\n'));
  const char* const at = text.data() + offset;
  const std::size_t in_window = static_cast<std::size_t>(at - window.bytes.data());
  const std::string_view before = window.bytes.substr(0, in_window);
  const std::size_t newline = before.rfind('\n');
  const std::size_t start = newline == std::string_view::npos ? 0 : newline + 1;
  std::size_t end = window.bytes.find('\n', in_window);
  if (end == std::string_view::npos) end = window.bytes.size();
  std::string_view line = window.bytes.substr(start, end - start);
  if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
  const std::size_t column = std::min(in_window - start, line.size());
  place.column = engine::count_characters(line.substr(0, column)) + 1;
  if (newline == std::string_view::npos) place.column += window.characters_before;

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
