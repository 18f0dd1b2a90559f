// See format.hpp.  Works on the tokens of the parser: what lies between two of them is blanks, line
// breaks and comments, and only that is written anew.
#include "grammar/format.hpp"

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <utility>

#include "grammar/frontend/parse.hpp"

namespace meniscus::grammar {
namespace {

constexpr std::size_t kPartIndent = 4;
constexpr std::size_t kClauseIndent = 8;
constexpr std::size_t kGoesOnIndent = 12;
constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";

/// Where a byte stands: in a text, in a comment, or in neither.
class Quotes {
 public:
  void next(char c) {
    if (c == '\n') {
      state_ = State::Plain;
    } else if (state_ == State::Plain) {
      state_ = c == '"' ? State::Text : c == '#' ? State::Comment : State::Plain;
    } else if (state_ == State::Text) {
      state_ = c == '"' ? State::Plain : c == '\\' ? State::Escape : State::Text;
    } else if (state_ == State::Escape) {
      state_ = State::Text;
    }
  }
  [[nodiscard]] bool in_text() const { return state_ == State::Text || state_ == State::Escape; }

 private:
  enum class State : std::uint8_t { Plain, Text, Escape, Comment };
  State state_ = State::Plain;
};

/// Line feeds for other line ends and blanks for tabs, outside texts.  Lines and columns stay.
std::string plain_text(std::string_view text) {
  if (text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
  std::string plain;
  plain.reserve(text.size());
  Quotes quotes;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (c == '\r' && i + 1 < text.size() && text[i + 1] == '\n') continue;
    const bool blank = !quotes.in_text() && (c == '\t' || c == '\r');
    plain += blank ? ' ' : c;
    quotes.next(c);
  }
  return plain;
}

/// A token, or one word of it: `look up` are two.
struct Piece {
  Tok kind = Tok::END;
  Span span;
  bool begins = true;  // the first of its token
};

std::vector<Span> words_of(std::string_view text, Span span) {
  std::vector<Span> words;
  bool inside = false;
  for (std::uint32_t at = span.begin; at < span.end; ++at) {
    const char c = text[at];
    if (c == '#')
      at = static_cast<std::uint32_t>(std::min<std::size_t>(text.find('\n', at), span.end));
    const bool blank = c == '#' || c == ' ' || c == '\n';
    if (!blank && !inside) words.push_back({at, at});
    if (!blank) words.back().end = at + 1;
    inside = !blank;
  }
  return words;
}

std::vector<Piece> pieces_of(std::string_view text, const std::vector<Token>& tokens) {
  std::vector<Piece> pieces;
  pieces.reserve(tokens.size());
  for (std::size_t i = 0; i < tokens.size(); ++i) {
    const Token token = tokens[i];
    if (token.kind == Tok::TEXT_BEGIN) {  // a text with what is inserted into it is one piece
      while (tokens[i].kind != Tok::TEXT_END)
        ++i;
      pieces.push_back({Tok::STRING, {token.span.begin, tokens[i].span.end}});
    } else if (token.kind == Tok::STRING) {
      pieces.push_back({token.kind, token.span});
    } else {
      bool begins = true;
      for (const Span word : words_of(text, token.span)) {
        pieces.push_back({token.kind, word, begins});
        begins = false;
      }
    }
  }
  return pieces;
}

/// A line without a word: blank, or a comment.
struct Between {
  std::string_view comment;  // empty: a blank line
  bool at_margin = false;
};

std::string_view trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(' ');
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(' ') - first + 1);
}

class Layout {
 public:
  Layout(std::string_view text, const std::vector<Piece>& pieces) : text_(text), pieces_(pieces) {}

  std::string run() {
    for (at_ = 0; at_ < pieces_.size(); ++at_) {
      const Piece& piece = pieces_[at_];
      const bool new_line = gap(piece.span.begin);
      note_part(piece);
      if (new_line || at_ == 0) {
        write_between(piece);
        indent(indent_of(piece));
      } else {
        out_ += separator(pieces_[at_ - 1], piece);
      }
      out_ += text_.substr(piece.span.begin, piece.span.end - piece.span.begin);
    }
    gap(static_cast<std::uint32_t>(text_.size()));
    write_between({});
    return std::move(out_);
  }

 private:
  /// Takes apart what lies between the piece before and `end`; whether it holds a line break.
  bool gap(std::uint32_t end) {
    between_.clear();
    const std::uint32_t begin = at_ == 0 ? 0 : pieces_[at_ - 1].span.end;
    std::string_view rest = text_.substr(begin, end - begin);
    std::size_t line_end = rest.find('\n');
    if (at_ > 0) {  // the rest of a line with words on it
      const std::string_view behind = trimmed(rest.substr(0, line_end));
      if (!behind.empty()) out_.append("  ").append(behind);
      if (line_end == std::string_view::npos) return false;
      rest.remove_prefix(line_end + 1);
      line_end = rest.find('\n');
    }
    while (line_end != std::string_view::npos) {
      between_.push_back(line_of(rest.substr(0, line_end)));
      rest.remove_prefix(line_end + 1);
      line_end = rest.find('\n');
    }
    if (!trimmed(rest).empty()) between_.push_back(line_of(rest));
    return true;
  }

  static Between line_of(std::string_view line) {
    return {trimmed(line), !line.empty() && line.front() == '#'};
  }

  [[nodiscard]] static bool is_set_apart(Tok item) {
    return item == Tok::RULE || item == Tok::TRIAL_RULE || item == Tok::EXAMPLE;
  }

  void note_part(const Piece& piece) {
    set_apart_ = false;
    if (!piece.begins || !(is_item(piece.kind) || is_part(piece.kind))) return;
    if (is_item(piece.kind)) {
      set_apart_ = is_set_apart(piece.kind) || is_set_apart(item_);
      item_ = piece.kind;
    }
    in_without_ = part_ == Tok::WITHOUT && piece.kind == Tok::RAISE;
    part_ = piece.kind;
  }

  [[nodiscard]] std::size_t indent_of(const Piece& piece) const {
    const bool is_word = piece.begins && (is_item(piece.kind) || is_part(piece.kind));
    if (piece.kind == Tok::END || (is_word && is_item(piece.kind))) return 0;
    if (!is_word) return is_item(part_) ? kPartIndent : kGoesOnIndent;
    const bool of_clause = piece.kind == Tok::SAY || piece.kind == Tok::ASK ||
                           piece.kind == Tok::BLAMES || piece.kind == Tok::IGNORE || in_without_;
    return of_clause ? kClauseIndent : kPartIndent;
  }

  /// The lines between two lines with words, `next` being the first word of the second.
  void write_between(const Piece& next) {
    const std::size_t own = indent_of(next);
    const bool ends_item = own == 0;  // an item, or the end of the file
    if (at_ > 0) out_ += '\n';
    // Comments right above an item belong to it: the blank line stands above them.
    std::size_t above = between_.size();
    while (ends_item && next.kind != Tok::END && above > 0 && !between_[above - 1].comment.empty())
      --above;
    bool blank_due = false;
    for (std::size_t i = 0; i <= between_.size(); ++i) {
      if (i == above && set_apart_) blank_due = true;
      if (i == between_.size()) break;
      if (between_[i].comment.empty()) {
        blank_due = true;
        continue;
      }
      blank(blank_due);
      indent(comment_indent(i, above, own));
      out_.append(between_[i].comment) += '\n';
    }
    if (next.kind != Tok::END) blank(blank_due);
  }

  /// One blank line where one is due, never at the top of the file.
  void blank(bool& due) {
    if (due && !out_.empty()) out_ += '\n';
    due = false;
  }

  [[nodiscard]] std::size_t comment_indent(std::size_t i, std::size_t above,
                                           std::size_t own) const {
    if (between_[i].at_margin || at_ == 0 || (own == 0 && i >= above)) return 0;
    return own == 0 ? kPartIndent : own;
  }

  void indent(std::size_t blanks) { out_.append(blanks, ' '); }

  /// What stands between two pieces of one line.
  [[nodiscard]] std::string_view separator(const Piece& before, const Piece& piece) const {
    const bool touches = piece.kind == Tok::COMMA || piece.kind == Tok::RPAREN ||
                         before.kind == Tok::LPAREN || piece.kind == Tok::PER ||
                         before.kind == Tok::PER || is_sign(at_ - 1);
    if (touches) return "";
    return is_title(before, piece) ? "  " : " ";
  }

  /// The minus of a number, not that of a difference.
  [[nodiscard]] bool is_sign(std::size_t index) const {
    return pieces_[index].kind == Tok::MINUS &&
           (index == 0 || !ends_operand(pieces_[index - 1].kind));
  }

  [[nodiscard]] bool is_title(const Piece& before, const Piece& piece) const {
    return part_ == Tok::SETTING && piece.kind == Tok::STRING && before.kind != Tok::EQ &&
           before.kind != Tok::BETWEEN && before.kind != Tok::AND;
  }

  std::string_view text_;  // both of the caller
  const std::vector<Piece>& pieces_;
  std::size_t at_ = 0;            // of pieces_
  std::vector<Between> between_;  // the lines before the piece
  Tok item_ = Tok::END;           // the last words that began an item and a part
  Tok part_ = Tok::END;
  bool in_without_ = false;  // the piece is the `raise` of a `without`
  bool set_apart_ = false;   // the piece begins an item with a blank line before it
  std::string out_;
};

}  // namespace

Formatted format(const std::string& name, std::string_view text) {
  auto source = std::make_shared<const engine::SourceText>(name, plain_text(text));
  Parsed parsed = parse(source, ParseLimits{});
  Formatted formatted;
  formatted.diagnostics = std::move(parsed.diagnostics);
  formatted.good =
      std::none_of(formatted.diagnostics.begin(), formatted.diagnostics.end(),
                   [](const auto& d) { return d.severity == engine::Severity::Error; });
  formatted.text = formatted.good
                       ? Layout(source->text(), pieces_of(source->text(), parsed.tokens)).run()
                       : std::string(text);
  return formatted;
}

}  // namespace meniscus::grammar
