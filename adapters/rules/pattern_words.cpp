// Contract: see pattern_words.hpp.
#include "adapters/rules/pattern_words.hpp"

#include <algorithm>
#include <utility>
#include <vector>

namespace meniscus::adapters {

namespace {
constexpr int kDeepest = 8;

std::string quoted(std::string_view text) {
  if (text == " ") return "a blank";
  return "`" + std::string(text) + "`";
}

std::string joined(const std::vector<std::string>& parts, std::string_view link) {
  std::string text;
  for (const std::string& part : parts) {
    if (!text.empty()) text += link;
    text += part;
  }
  return text;
}

/// A part of a sequence: its words, and whether it is plain text that may join its neighbour.
struct Piece {
  std::string words;
  std::string letters;  // of plain text
};

class Reader {
 public:
  explicit Reader(std::string_view pattern) : rest_(pattern) {}

  std::string read() {
    constexpr std::string_view kAnyCase = "(?i)";
    const bool any_case = rest_.starts_with(kAnyCase);
    if (any_case) rest_.remove_prefix(kAnyCase.size());
    std::string words = alternatives(0);
    if (bad_ || !rest_.empty()) return {};
    return any_case ? words + ", in small or capital letters" : words;
  }

 private:
  [[nodiscard]] bool at(char c) const { return !rest_.empty() && rest_.front() == c; }
  char take() {
    const char c = rest_.front();
    rest_.remove_prefix(1);
    return c;
  }
  std::string fail() {
    bad_ = true;
    return {};
  }

  std::string alternatives(int depth) {
    if (depth > kDeepest) return fail();
    std::vector<std::string> all{sequence(depth)};
    while (!bad_ && at('|')) {
      take();
      all.push_back(sequence(depth));
    }
    if (all.size() > 1) {
      for (std::string& each : all)
        if (each.find(", ") != std::string::npos) each.insert(0, "(").append(")");
    }
    return joined(all, " or ");
  }

  std::string sequence(int depth) {
    std::vector<Piece> pieces;
    while (!bad_ && !rest_.empty() && !at('|') && !at(')')) {
      Piece piece = atom(depth);
      const bool repeated = repeat(piece);
      const bool joins =
          !repeated && !piece.letters.empty() && !pieces.empty() && !pieces.back().letters.empty();
      if (joins) {
        pieces.back().letters += piece.letters;
        pieces.back().words = quoted(pieces.back().letters);
      } else {
        pieces.push_back(std::move(piece));
      }
    }
    std::vector<std::string> words;
    words.reserve(pieces.size());
    for (Piece& piece : pieces)
      words.push_back(std::move(piece.words));
    return words.empty() ? "nothing" : joined(words, ", then ");
  }

  Piece atom(int depth) {
    const char c = take();
    switch (c) {
      case '^':
        return {"the beginning", {}};
      case '$':
        return {"the end", {}};
      case '.':
        return {"any character", {}};
      case '[':
        return {any_of(), {}};
      case '(': {
        if (rest_.starts_with("?:")) rest_.remove_prefix(2);
        if (at('?')) return {fail(), {}};
        std::string words = alternatives(depth + 1);
        if (!at(')')) return {fail(), {}};
        take();
        const bool many =
            words.find(" or ") != std::string::npos || words.find(", then ") != std::string::npos;
        return {many ? "(" + words + ")" : words, {}};
      }
      case '\\':
        return escaped();
      case '*':
      case '+':
      case '?':
      case '{':
      case '}':
        return {fail(), {}};
      default:
        return {quoted({&c, 1}), {c}};
    }
  }

  Piece escaped() {
    if (rest_.empty()) return {fail(), {}};
    const char c = take();
    if (c == 'd') return {"a digit", {}};
    if (c == 's') return {"a blank", {}};
    if (c == 'b') return {"the edge of a word", {}};
    const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    if (letter) return {fail(), {}};
    return {quoted({&c, 1}), {c}};
  }

  /// Behind `[`.
  std::string any_of() {
    const bool but = at('^');
    if (but) take();
    Class all;
    while (!bad_ && !rest_.empty() && !at(']'))
      member(all);
    if (bad_ || rest_.empty()) return fail();
    take();
    std::vector<std::string> words;
    if (all.small || all.capital) {
      words.emplace_back(all.small && all.capital ? "a letter"
                         : all.small              ? "a small letter"
                                                  : "a capital letter");
    }
    if (all.digit) words.emplace_back("a digit");
    words.insert(words.end(), all.others.begin(), all.others.end());
    if (words.empty()) return fail();
    const std::string text = joined(words, " or ");
    if (but) return "anything but " + text;
    return words.size() > 1 ? "(" + text + ")" : text;
  }

  struct Class {
    bool small = false;
    bool capital = false;
    bool digit = false;
    std::vector<std::string> others;
  };

  /// One character or range between the brackets.
  void member(Class& out) {
    const char from = take();
    if (from == '\\') {
      bad_ = true;
      return;
    }
    if (rest_.size() < 2 || rest_[0] != '-' || rest_[1] == ']') {
      out.others.push_back(quoted({&from, 1}));
      return;
    }
    take();
    const char to = take();
    if (from == '0' && to == '9') {
      out.digit = true;
    } else if (from == 'a' && to == 'z') {
      out.small = true;
    } else if (from == 'A' && to == 'Z') {
      out.capital = true;
    } else {
      out.others.push_back(quoted({&from, 1}) + " to " + quoted({&to, 1}));
    }
  }

  /// What stands behind an atom; false when nothing does.
  bool repeat(Piece& piece) {
    if (rest_.empty()) return false;
    const std::string once = piece.words;
    if (at('?')) {
      take();
      piece = {"perhaps " + once, {}};
      return true;
    }
    if (at('*') || at('+')) {
      const bool none = take() == '*';
      piece = {once == "a blank"
                   ? (none ? "blanks or none" : "blanks")
                   : once + (none ? ", any number of times or not at all" : ", once or more"),
               {}};
      return true;
    }
    if (!at('{')) return false;
    const std::size_t end = rest_.find('}');
    if (end == std::string_view::npos) {
      fail();
      return true;
    }
    const std::string_view counts = rest_.substr(1, end - 1);
    rest_.remove_prefix(end + 1);
    const std::size_t comma = counts.find(',');
    std::string text = once + ", " + std::string(counts.substr(0, comma));
    if (comma != std::string_view::npos) {
      const std::string_view most = counts.substr(comma + 1);
      text += most.empty() ? std::string(" or more") : " to " + std::string(most);
    }
    piece = {text + " times", {}};
    return true;
  }

  std::string_view rest_;
  bool bad_ = false;
};
}  // namespace

std::string pattern_words(std::string_view pattern) { return Reader(pattern).read(); }

}  // namespace meniscus::adapters
