// The look of a diagnostic:
//
//   rules/total.rule:2:26: error[R0203]: cannot compare mass with volume
//     |
//   2 |     raise hold when dose > volume
//     |                     ---- ^ ------ volume
//     |                     |
//     |                     mass
//     = help: ...
//
// Columns:  characters, not bytes; wide characters (East Asian, emoji) take two columns of a
//           terminal and the marks are laid out by that.
#include "engine/base/diagnostic.hpp"

#include <algorithm>
#include <array>
#include <string_view>

namespace meniscus::engine {
namespace {

constexpr std::size_t kLongestExcerpt = 160;  // columns shown of one line

std::string_view word(Severity severity) {
  switch (severity) {
    case Severity::Error:
      return "error";
    case Severity::Warning:
      return "warning";
    case Severity::Note:
      return "note";
  }
  return "error";
}

struct Character {
  char32_t code = 0;
  std::size_t bytes = 1;
};

Character decode(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const std::size_t bytes = byte(0) >= 0xF0 ? 4 : byte(0) >= 0xE0 ? 3 : byte(0) >= 0xC0 ? 2 : 1;
  if (bytes == 1 || bytes > text.size()) return {byte(0), 1};
  constexpr std::array<unsigned, 5> kLeadBits = {0, 0x7F, 0x1F, 0x0F, 0x07};
  char32_t code = byte(0) & kLeadBits.at(bytes);
  for (std::size_t i = 1; i < bytes; ++i)
    code = (code << 6U) | (byte(i) & 0x3FU);
  return {code, bytes};
}

/// Columns of a terminal.  Source: the wide blocks of Unicode Standard Annex 11, shortened.
std::size_t columns(char32_t code) {
  const bool combines = (code >= 0x300 && code <= 0x36F) || (code >= 0x200B && code <= 0x200F);
  if (combines) return 0;
  const bool wide = (code >= 0x1100 && code <= 0x115F) || (code >= 0x2E80 && code <= 0xA4CF) ||
                    (code >= 0xAC00 && code <= 0xD7A3) || (code >= 0xF900 && code <= 0xFAFF) ||
                    (code >= 0xFE30 && code <= 0xFE6F) || (code >= 0xFF00 && code <= 0xFF60) ||
                    (code >= 0x1F300 && code <= 0x1FAFF) || (code >= 0x20000 && code <= 0x3FFFD);
  return wide ? 2 : 1;
}

std::size_t width(std::string_view text) {
  std::size_t sum = 0;
  while (!text.empty()) {
    const Character c = decode(text);
    sum += columns(c.code);
    text.remove_prefix(c.bytes);
  }
  return sum;
}

/// One line of the source with marks below it.
class Excerpt {
 public:
  Excerpt(const SourceText& source, std::uint32_t line)
      : source_(source), line_(line), text_(source.line(line)) {}

  void mark(Span span, char sign, std::string_view label) {
    const std::uint32_t start = source_.line_start(line_);
    const std::size_t begin = std::min<std::size_t>(span.begin - start, text_.size());
    const std::size_t end =
        std::clamp<std::size_t>(span.end < start ? 0 : span.end - start, begin, text_.size());
    const std::size_t column = width(text_.substr(0, begin));
    const std::size_t length = std::max<std::size_t>(1, width(text_.substr(begin, end - begin)));
    if (marks_.size() < column + length) marks_.resize(column + length, ' ');
    std::fill_n(marks_.begin() + static_cast<std::ptrdiff_t>(column), length, sign);
    if (!label.empty()) labels_.push_back({column, label});
  }

  void append_to(std::string& out, std::size_t gutter) {
    const std::string number = std::to_string(line_);
    out += std::string(gutter - number.size(), ' ') + number + " | " + shown_text() + "\n";
    const std::string empty = std::string(gutter, ' ') + " | ";
    out += empty + marks_.substr(0, kLongestExcerpt);
    // The rightmost label stands beside its mark; the others below, from right to left.
    std::stable_sort(labels_.begin(), labels_.end(),
                     [](const Placed& a, const Placed& b) { return a.column > b.column; });
    for (std::size_t i = 0; i < labels_.size(); ++i) {
      if (i == 0 && labels_[0].column >= last_mark()) {
        out += " ";
      } else {
        out += "\n" + empty + std::string(std::min(labels_[i].column, kLongestExcerpt), ' ');
      }
      out += labels_[i].text;
    }
    out += "\n";
  }

 private:
  struct Placed {
    std::size_t column;
    std::string_view text;
  };

  /// Where the last run of one sign begins.
  [[nodiscard]] std::size_t last_mark() const {
    std::size_t at = marks_.size();
    while (at > 1 && marks_[at - 2] == marks_.back())
      --at;
    return at - 1;
  }

  /// Control characters would move the marks: each is shown as one blank.
  [[nodiscard]] std::string shown_text() const {
    std::string out;
    std::size_t used = 0;
    for (std::string_view rest = text_; !rest.empty();) {
      const Character c = decode(rest);
      used += columns(c.code);
      if (used > kLongestExcerpt) return out + " ...";
      if (c.code < ' ' || c.code == 0x7F) {
        out += ' ';
      } else {
        out += rest.substr(0, c.bytes);
      }
      rest.remove_prefix(c.bytes);
    }
    return out;
  }

  const SourceText& source_;  // of the diagnostic being rendered
  std::uint32_t line_;
  std::string_view text_;
  std::string marks_;
  std::vector<Placed> labels_;
};

std::vector<std::uint32_t> lines_of(const Diagnostic& diagnostic) {
  std::vector<std::uint32_t> lines{diagnostic.source->locate(diagnostic.span.begin).line};
  for (const Label& label : diagnostic.labels) {
    lines.push_back(diagnostic.source->locate(label.span.begin).line);
  }
  std::sort(lines.begin(), lines.end());
  lines.erase(std::unique(lines.begin(), lines.end()), lines.end());
  return lines;
}

void append_excerpts(std::string& out, const Diagnostic& diagnostic, std::size_t gutter,
                     const std::vector<std::uint32_t>& lines) {
  const SourceText& source = *diagnostic.source;
  out += std::string(gutter, ' ') + " |\n";
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (i > 0 && lines[i] > lines[i - 1] + 1) out += std::string(gutter, ' ') + " :\n";
    Excerpt excerpt(source, lines[i]);
    for (const Label& label : diagnostic.labels) {
      if (source.locate(label.span.begin).line == lines[i]) {
        excerpt.mark(label.span, '-', label.text);
      }
    }
    if (source.locate(diagnostic.span.begin).line == lines[i]) {
      excerpt.mark(diagnostic.span, '^', {});
    }
    excerpt.append_to(out, gutter);
  }
}

}  // namespace

std::string render_line(const Diagnostic& diagnostic) {
  std::string out;
  if (diagnostic.source) {
    const LineColumn at = diagnostic.source->locate(diagnostic.span.begin);
    out += diagnostic.source->name() + ":" + std::to_string(at.line) + ":" +
           std::to_string(at.column) + ": ";
  }
  out += word(diagnostic.severity);
  if (!diagnostic.code.empty()) out += "[" + diagnostic.code + "]";
  return out + ": " + diagnostic.message;
}

std::string render(const Diagnostic& diagnostic) {
  std::string out = render_line(diagnostic) + "\n";
  std::size_t gutter = 1;
  if (diagnostic.source && !diagnostic.source->text().empty()) {
    const std::vector<std::uint32_t> lines = lines_of(diagnostic);
    gutter = std::to_string(lines.back()).size();
    append_excerpts(out, diagnostic, gutter, lines);
  }
  if (!diagnostic.help.empty()) {
    out += std::string(gutter, ' ') + " = help: " + diagnostic.help + "\n";
  }
  return out;
}

}  // namespace meniscus::engine
