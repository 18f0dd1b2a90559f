// A text that was read, with its name and its lines.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace meniscus::engine {

/// Bytes, half-open.
struct Span {
  std::uint32_t begin = 0;
  std::uint32_t end = 0;
  [[nodiscard]] bool empty() const { return begin == end; }
  friend bool operator==(const Span&, const Span&) = default;
};

struct LineColumn {
  std::uint32_t line = 1;    // from 1
  std::uint32_t column = 1;  // from 1, in characters (UTF-8 code points)
};

class SourceText {
 public:
  SourceText(std::string name, std::string text);

  [[nodiscard]] const std::string& name() const { return name_; }
  [[nodiscard]] std::string_view text() const { return text_; }
  [[nodiscard]] std::string_view slice(Span span) const;
  [[nodiscard]] LineColumn locate(std::uint32_t offset) const;
  /// Line `line` (from 1) without its end.
  [[nodiscard]] std::string_view line(std::uint32_t line) const;
  [[nodiscard]] std::uint32_t line_count() const {
    return static_cast<std::uint32_t>(starts_.size());
  }
  [[nodiscard]] std::uint32_t line_start(std::uint32_t line) const { return starts_[line - 1]; }

 private:
  std::string name_;
  std::string text_;
  std::vector<std::uint32_t> starts_;
};

}  // namespace meniscus::engine
