// Scanning JSON byte by byte (contract: json_scan.hpp).
#include "adapters/support/json_scan.hpp"

#include <array>
#include <vector>

#include "engine/base/utf8.hpp"

namespace meniscus::adapters {
namespace {

using engine::Origin;

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// Walks one JSON value and tells a listener where keys and values stand.
///
/// The listener has: key(content, offset), open(is_array, offset), close(end),
/// scalar(start, end).
template <class Listener>
class Walk {
 public:
  Walk(std::string_view text, Listener& listener) : text_(text), listener_(listener) {}

  std::optional<JsonProblem> run() {
    value();
    if (!problem_) {
      skip_space();
      if (at_ < text_.size()) fail("text after the end of the record");
    }
    return problem_;
  }

 private:
  enum class Next : std::uint8_t { Value, KeyOrEnd, Key, CommaOrEnd };

  void fail(std::string message) {
    if (!problem_) problem_ = JsonProblem{at_, std::move(message)};
  }
  void skip_space() {
    while (at_ < text_.size() && is_json_space(text_[at_]))
      ++at_;
  }
  [[nodiscard]] std::string found() const {
    if (at_ >= text_.size()) return "the end of the record";
    const auto c = static_cast<unsigned char>(text_[at_]);
    if (c == 0) return "a NUL byte";
    if (c < 0x20 || c == 0x7F) return "a control character";
    std::size_t end = at_ + 1;
    while (end < text_.size() && (static_cast<unsigned char>(text_[end]) & 0xC0U) == 0x80U)
      ++end;
    return "`" + std::string(text_.substr(at_, end - at_)) + "`";
  }
  void needs(std::string_view what) {
    fail(found() + " where " + std::string(what) + " is needed");
  }

  void value() {
    std::size_t depth = 0;
    std::array<bool, kMostDepth> in_array{};
    Next next = Next::Value;
    do {
      skip_space();
      switch (next) {
        case Next::Value:
          next = start_value(depth, in_array);
          break;
        case Next::KeyOrEnd:
          if (peek() == '}') {
            next = end_container(depth);
            break;
          }
          [[fallthrough]];
        case Next::Key:
          next = key();
          break;
        case Next::CommaOrEnd:
          next = comma_or_end(depth, in_array);
          break;
      }
    } while (depth > 0 && !problem_);
  }

  [[nodiscard]] char peek() const { return at_ < text_.size() ? text_[at_] : '\0'; }

  Next start_value(std::size_t& depth, std::array<bool, kMostDepth>& in_array) {
    const char c = peek();
    if (c == ']' && depth > 0 && in_array[depth - 1] && text_[last_] == '[') {
      return end_container(depth);
    }
    if (c != '{' && c != '[') {
      scalar();
      return Next::CommaOrEnd;
    }
    if (depth == kMostDepth) {
      fail("nesting deeper than " + std::to_string(kMostDepth));
      return Next::CommaOrEnd;
    }
    in_array[depth++] = c == '[';
    listener_.open(c == '[', at_);
    last_ = at_++;
    return c == '[' ? Next::Value : Next::KeyOrEnd;
  }

  Next end_container(std::size_t& depth) {
    --depth;
    last_ = at_++;
    listener_.close(at_);
    return Next::CommaOrEnd;
  }

  Next key() {
    const std::size_t start = at_;
    if (peek() != '"') {
      needs("a key in quotes");
      return Next::Key;
    }
    if (!string()) return Next::Key;
    listener_.key(text_.substr(start + 1, at_ - start - 2), start);
    skip_space();
    if (peek() != ':')
      needs("`:`");
    else
      last_ = at_++;
    return Next::Value;
  }

  Next comma_or_end(std::size_t& depth, const std::array<bool, kMostDepth>& in_array) {
    const bool array = in_array[depth - 1];
    const char c = peek();
    if (c == (array ? ']' : '}')) return end_container(depth);
    if (c != ',') {
      needs(array ? "`,` or `]`" : "`,` or `}`");
      return Next::CommaOrEnd;
    }
    last_ = at_++;
    return array ? Next::Value : Next::Key;
  }

  void scalar() {
    const std::size_t start = at_;
    const char c = peek();
    if (c == '"') {
      if (!string()) return;
    } else if (c == '-' || is_digit(c)) {
      if (!number()) return;
    } else if (!literal("true") && !literal("false") && !literal("null")) {
      needs("a value");
      return;
    }
    last_ = start;
    listener_.scalar(start, at_);
  }

  bool literal(std::string_view word) {
    if (text_.substr(at_, word.size()) != word) return false;
    at_ += word.size();
    return true;
  }

  bool digits() {
    if (!is_digit(peek())) {
      needs("a digit");
      return false;
    }
    while (is_digit(peek()))
      ++at_;
    return true;
  }

  bool number() {
    if (peek() == '-') ++at_;
    if (peek() == '0') {
      ++at_;
      if (is_digit(peek())) {
        fail("a number with a needless zero in front");
        return false;
      }
    } else if (!digits()) {
      return false;
    }
    if (peek() == '.') {
      ++at_;
      if (!digits()) return false;
    }
    if (peek() == 'e' || peek() == 'E') {
      ++at_;
      if (peek() == '+' || peek() == '-') ++at_;
      if (!digits()) return false;
    }
    return true;
  }

  /// From the opening quote to behind the closing one.
  bool string() {
    const std::size_t start = at_++;
    while (at_ < text_.size() && text_[at_] != '"') {
      if (static_cast<unsigned char>(text_[at_]) < 0x20U) {
        fail(text_[at_] == '\n' ? std::string("the end of the line inside a text in quotes")
                                : found() + " inside a text in quotes");
        return false;
      }
      if (text_[at_] == '\\' && !escape()) return false;
      ++at_;
    }
    if (at_ >= text_.size()) {
      at_ = start;
      fail("a text in quotes that never ends");
      return false;
    }
    ++at_;
    return true;
  }

  /// At a backslash; stays on the last byte of the escape.
  bool escape() {
    ++at_;
    const char c = peek();
    if (std::string_view("\"\\/bfnrt").find(c) != std::string_view::npos && c != '\0') return true;
    if (c == 'u' && at_ + 4 < text_.size()) {
      bool hex = true;
      for (std::size_t i = 1; i <= 4; ++i)
        hex = hex && std::string_view("0123456789abcdefABCDEF").find(text_[at_ + i]) !=
                         std::string_view::npos;
      if (hex) {
        at_ += 4;
        return true;
      }
    }
    fail("an escape that JSON does not have");
    return false;
  }

  std::string_view text_;
  Listener& listener_;
  std::size_t at_ = 0;
  std::size_t last_ = 0;  // the structural byte or value before
  std::optional<JsonProblem> problem_;
};

struct Deaf {
  void key(std::string_view /*content*/, std::size_t /*at*/) {}
  void open(bool /*array*/, std::size_t /*at*/) {}
  void close(std::size_t /*end*/) {}
  void scalar(std::size_t /*start*/, std::size_t /*end*/) {}
};

/// The path to the value that is being walked.
class Path {
 public:
  void key(std::string_view content) { steps_.back().key = content; }
  void open(bool array) { steps_.push_back({array, 0, {}}); }
  void close() { steps_.pop_back(); }
  void count_item() {
    if (!steps_.empty() && steps_.back().array) ++steps_.back().count;
  }
  [[nodiscard]] bool empty() const { return steps_.empty(); }
  [[nodiscard]] std::string written() const {
    std::string pointer;
    for (const Step& step : steps_) {
      pointer += '/';
      if (step.array) {
        pointer += std::to_string(step.count - 1);
        continue;
      }
      for (const char c : step.key) {
        if (c == '~')
          pointer += "~0";
        else if (c == '/')
          pointer += "~1";
        else
          pointer += c;
      }
    }
    return pointer;
  }

 private:
  struct Step {
    bool array = false;
    std::size_t count = 0;  // items begun
    std::string_view key;
  };
  std::vector<Step> steps_;
};

/// Follows the path to the innermost value that holds one byte.
class PointerTo {
 public:
  explicit PointerTo(std::size_t offset) : offset_(offset) {}

  void key(std::string_view content, std::size_t at) {
    path_.key(content);
    note(at, at + content.size() + 2);
  }
  void open(bool array, std::size_t at) {
    path_.count_item();
    starts_.push_back(at);
    path_.open(array);
  }
  void close(std::size_t end) {
    path_.close();
    note(starts_.back(), end);
    starts_.pop_back();
  }
  void scalar(std::size_t start, std::size_t end) {
    path_.count_item();
    note(start, end);
  }
  /// After a walk that stopped early the open containers hold the byte, if anything does.
  std::string result() {
    if (best_) return *best_;
    while (!starts_.empty() && starts_.back() > offset_) {
      starts_.pop_back();
      path_.close();
    }
    if (!path_.empty()) path_.close();
    return path_.written();
  }

 private:
  void note(std::size_t start, std::size_t end) {
    if (!best_ && offset_ >= start && offset_ < end) best_ = path_.written();
  }

  std::size_t offset_;
  Path path_;
  std::vector<std::size_t> starts_;
  std::optional<std::string> best_;
};

/// Watches for the value that a pointer names.
class OffsetOf {
 public:
  explicit OffsetOf(std::string_view pointer) : pointer_(pointer) {}

  void key(std::string_view content, std::size_t /*at*/) { path_.key(content); }
  void open(bool array, std::size_t at) {
    path_.count_item();
    note(at);
    path_.open(array);
  }
  void close(std::size_t /*end*/) { path_.close(); }
  void scalar(std::size_t start, std::size_t /*end*/) {
    path_.count_item();
    note(start);
  }
  [[nodiscard]] std::optional<std::size_t> result() const { return found_; }

 private:
  void note(std::size_t at) {
    if (!found_ && path_.written() == pointer_) found_ = at;
  }

  std::string_view pointer_;
  Path path_;
  std::optional<std::size_t> found_;
};

class TopLevel {
 public:
  explicit TopLevel(std::string_view key) : key_(key) {}

  void key(std::string_view content, std::size_t /*at*/) { next_ = depth_ == 1 && content == key_; }
  void open(bool /*array*/, std::size_t at) {
    if (next_ && !start_) start_ = at;
    next_ = false;
    ++depth_;
  }
  void close(std::size_t end) {
    if (--depth_ == 1 && start_ && !found_) finish(*start_, end);
  }
  void scalar(std::size_t start, std::size_t end) {
    if (next_ && !found_) finish(start, end);
    next_ = false;
  }
  [[nodiscard]] std::optional<Origin> result() const { return found_; }

 private:
  void finish(std::size_t start, std::size_t end) {
    found_ = Origin{static_cast<std::uint32_t>(start), static_cast<std::uint32_t>(end - start)};
  }

  std::string_view key_;
  bool next_ = false;
  std::size_t depth_ = 0;
  std::optional<std::size_t> start_;
  std::optional<Origin> found_;
};

bool blank_line_start(std::string_view text, std::size_t at) {
  return at + 1 < text.size() && text[at + 1] == '{';
}

void append_utf8(std::string& out, std::uint32_t point) {
  if (point < 0x80) {
    out += static_cast<char>(point);
  } else if (point < 0x800) {
    out += static_cast<char>(0xC0U | point >> 6U);
    out += static_cast<char>(0x80U | (point & 0x3FU));
  } else if (point < 0x10000) {
    out += static_cast<char>(0xE0U | point >> 12U);
    out += static_cast<char>(0x80U | (point >> 6U & 0x3FU));
    out += static_cast<char>(0x80U | (point & 0x3FU));
  } else {
    out += static_cast<char>(0xF0U | point >> 18U);
    out += static_cast<char>(0x80U | (point >> 12U & 0x3FU));
    out += static_cast<char>(0x80U | (point >> 6U & 0x3FU));
    out += static_cast<char>(0x80U | (point & 0x3FU));
  }
}

/// Four hexadecimal digits at `at`; nothing when they are not.
std::optional<std::uint32_t> hex4(std::string_view text, std::size_t at) {
  if (at + 4 > text.size()) return std::nullopt;
  std::uint32_t value = 0;
  for (std::size_t i = at; i < at + 4; ++i) {
    const char c = text[i];
    std::uint32_t digit = 0;
    if (is_digit(c))
      digit = static_cast<std::uint32_t>(c - '0');
    else if ((c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F'))
      digit = (static_cast<std::uint32_t>(c) & 0x5FU) - 'A' + 10;
    else
      return std::nullopt;
    value = value << 4U | digit;
  }
  return value;
}

/// The `\u` escape whose digits start at `at`, with its second half; moves `at` behind it.
std::optional<std::uint32_t> code_point(std::string_view text, std::size_t& at) {
  const auto first = hex4(text, at);
  if (!first) return std::nullopt;
  at += 4;
  if (*first >= 0xDC00 && *first <= 0xDFFF) return std::nullopt;
  if (*first < 0xD800 || *first > 0xDBFF) return first;
  if (text.substr(at, 2) != "\\u") return std::nullopt;
  const auto second = hex4(text, at + 2);
  if (!second || *second < 0xDC00 || *second > 0xDFFF) return std::nullopt;
  at += 6;
  return 0x10000 + ((*first - 0xD800) << 10U) + (*second - 0xDC00);
}

/// Counts brackets outside of strings until the first one is closed.
class ObjectScan {
 public:
  explicit ObjectScan(std::string_view text) : text_(text) {}

  ObjectEnd run() {
    for (; at_ < text_.size(); ++at_) {
      const char c = text_[at_];
      if (quoted_ ? ends_string(c) : ends_at_line(c)) return {ObjectEnd::Kind::Broken, at_};
      if (closed_) return {ObjectEnd::Kind::Complete, at_ + 1};
    }
    return {ObjectEnd::Kind::More, text_.size()};
  }

 private:
  /// One byte of a string.  True when the string breaks off there.
  bool ends_string(char c) {
    if (c == '\\') ++at_;
    if (c == '"') quoted_ = false;
    return c == '\n';
  }

  /// One byte outside of strings.  True when the record breaks off there: the next line starts
  /// another.
  bool ends_at_line(char c) {
    if (c == '\n') {
      first_line_ = false;
      const bool may_nest =
          first_line_is_bare_ && (before_ == ':' || before_ == ',' || before_ == '[');
      return depth_ > 0 && blank_line_start(text_, at_) && !may_nest;
    }
    if (is_json_space(c)) return false;
    if (first_line_ && at_ > 0) first_line_is_bare_ = false;
    before_ = c;
    if (c == '"') quoted_ = true;
    if (c == '{' || c == '[') ++depth_;
    if (c == '}' || c == ']') closed_ = --depth_ == 0;
    return false;
  }

  std::string_view text_;
  std::size_t at_ = 0;
  std::size_t depth_ = 0;
  bool quoted_ = false;
  bool closed_ = false;
  bool first_line_is_bare_ = true;  // nothing but the opening brace
  bool first_line_ = true;
  char before_ = '\0';  // the last byte that is no space
};

}  // namespace

ObjectEnd object_end(std::string_view text) { return ObjectScan(text).run(); }

std::optional<JsonProblem> json_problem(std::string_view text) {
  Deaf deaf;
  auto problem = Walk<Deaf>(text, deaf).run();
  const std::size_t bad = engine::first_invalid_utf8(text);
  if (bad != std::string_view::npos && (!problem || bad < problem->offset))
    return JsonProblem{bad, "bytes that are no UTF-8 text"};
  return problem;
}

std::string json_pointer_at(std::string_view text, std::size_t offset) {
  PointerTo pointer(offset);
  Walk<PointerTo>(text, pointer).run();
  return pointer.result();
}

std::optional<std::size_t> json_offset_of(std::string_view text, std::string_view pointer) {
  OffsetOf offset(pointer);
  Walk<OffsetOf>(text, offset).run();
  return offset.result();
}

std::optional<Origin> top_level_value(std::string_view text, std::string_view key) {
  TopLevel top(key);
  Walk<TopLevel>(text, top).run();
  return top.result();
}

std::optional<std::string> unescaped(std::string_view content) {
  constexpr std::string_view kNames = "\"\\/bfnrt";
  constexpr std::string_view kMeant = "\"\\/\b\f\n\r\t";
  std::string out;
  out.reserve(content.size());
  for (std::size_t i = 0; i < content.size();) {
    if (content[i] != '\\') {
      out += content[i++];
      continue;
    }
    if (i + 1 == content.size()) return std::nullopt;
    const char c = content[i + 1];
    i += 2;
    if (c == 'u') {
      const auto point = code_point(content, i);
      if (!point) return std::nullopt;
      append_utf8(out, *point);
      continue;
    }
    const std::size_t name = kNames.find(c);
    if (name == std::string_view::npos) return std::nullopt;
    out += kMeant[name];
  }
  return out;
}

}  // namespace meniscus::adapters
