// Contract: see plain_tokens.hpp.
#include "grammar/frontend/plain_tokens.hpp"

#include "engine/base/ascii.hpp"

namespace meniscus::grammar {

namespace {

using engine::ascii::is_digit;
bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
bool is_in_word(char c) { return is_letter(c) || is_digit(c) || c == '_'; }

/// The text with its end; '\0' behind it, which begins no token of more than one byte.
class Bytes {
 public:
  explicit Bytes(std::string_view text) : text_(text) {}
  char operator[](std::size_t at) const { return at < text_.size() ? text_[at] : '\0'; }
  [[nodiscard]] std::size_t size() const { return text_.size(); }

 private:
  std::string_view text_;
};

/// Behind a WORD that begins at `at`.
std::size_t word_end(const Bytes& bytes, std::size_t at) {
  while (is_in_word(bytes[at]) || (bytes[at] == '-' && is_in_word(bytes[at + 1])))
    ++at;
  return at;
}

std::optional<Token> token(Tok kind, std::size_t begin, std::size_t end) {
  return Token{kind, {static_cast<std::uint32_t>(begin), static_cast<std::uint32_t>(end)}};
}

/// NAME or PATH.
std::optional<Token> word(const Bytes& bytes, std::size_t begin) {
  std::size_t end = word_end(bytes, begin);
  Tok kind = Tok::NAME;
  while (bytes[end] == '.' && is_letter(bytes[end + 1])) {
    end = word_end(bytes, end + 1);
    kind = Tok::PATH;
  }
  if (bytes[end] == '.') return std::nullopt;  // `dose-0.5` is one token, for a message
  return token(kind, begin, end);
}

/// STRING without a backslash.
std::optional<Token> text(const Bytes& bytes, std::size_t begin) {
  for (std::size_t at = begin + 1; at < bytes.size(); ++at) {
    const char c = bytes[at];
    if (c == '"') return token(Tok::STRING, begin, at + 1);
    if (c == '\\' || c == '\r' || c == '\n') break;
  }
  return std::nullopt;
}

/// NUMBER, with a blank, a bracket or the end behind it, and no fraction behind the blank.
std::optional<Token> number(const Bytes& bytes, std::size_t begin) {
  const auto digits_end = [&bytes](std::size_t at) {
    while (is_digit(bytes[at]))
      ++at;
    return at;
  };
  std::size_t end = digits_end(begin);
  if (bytes[end] == '.' && is_digit(bytes[end + 1])) end = digits_end(end + 1);
  const char next = bytes[end];
  const bool is_last =
      end == bytes.size() || next == ' ' || next == '\r' || next == '\n' || next == ')';
  if (!is_last) return std::nullopt;
  std::size_t behind = end;
  while (bytes[behind] == ' ')
    ++behind;
  if (is_digit(bytes[behind])) return std::nullopt;  // `1 1/2`
  return token(Tok::NUMBER, begin, end);
}

/// A sign that no longer sign begins with, as it stands here.
std::optional<Token> sign(const Bytes& bytes, std::size_t at) {
  const char next = bytes[at + 1];
  switch (bytes[at]) {
    case '(':
      return token(Tok::LPAREN, at, at + 1);
    case ')':
      return token(Tok::RPAREN, at, at + 1);
    case ',':
      return token(Tok::COMMA, at, at + 1);
    case '+':
      return token(Tok::PLUS, at, at + 1);
    case '-':
      return token(Tok::MINUS, at, at + 1);
    case '/':
      return token(Tok::SLASH, at, at + 1);
    case '%':
      return token(Tok::PERCENT, at, at + 1);
    case '*':
      return next == '*' ? std::nullopt : token(Tok::STAR, at, at + 1);
    case '=':
      return next == '=' || next == '<' || next == '>' ? std::nullopt : token(Tok::EQ, at, at + 1);
    case '<':
      return next == '=' || next == '>' ? std::nullopt : token(Tok::LESS, at, at + 1);
    case '>':
      return next == '=' ? std::nullopt : token(Tok::GREATER, at, at + 1);
    default:
      return std::nullopt;
  }
}

}  // namespace

std::uint32_t skip_blanks(std::string_view text, std::uint32_t at) {
  while (at < text.size()) {
    const char c = text[at];
    if (c == '#') {
      const std::size_t line = text.find('\n', at);
      at = static_cast<std::uint32_t>(line == std::string_view::npos ? text.size() : line);
    } else if (c == ' ' || c == '\r' || c == '\n') {
      ++at;
    } else {
      break;
    }
  }
  return at;
}

std::optional<Token> plain_token(std::string_view source, std::uint32_t at) {
  const Bytes bytes(source);
  const char c = bytes[at];
  if (is_letter(c)) return word(bytes, at);
  if (is_digit(c)) return number(bytes, at);
  if (c == '"') return text(bytes, at);
  return sign(bytes, at);
}

}  // namespace meniscus::grammar
