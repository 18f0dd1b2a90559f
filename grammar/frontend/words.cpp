// See words.hpp.  One pass over the raw tokens; insertions in texts are scanned and tagged in turn.
#include "grammar/frontend/words.hpp"

#include <algorithm>
#include <span>
#include <string>
#include <string_view>

#include "engine/base/ascii.hpp"
#include "grammar/frontend/raw_mistakes.hpp"
#include "grammar/frontend/units.hpp"

namespace meniscus::grammar {
namespace {

using engine::Span;

constexpr std::uint32_t kLengthPerDepth = 10;  // words in one expression for each level allowed

std::string lower(std::string_view text) {
  std::string out(text);
  std::ranges::transform(out, out.begin(), engine::ascii::lower);
  return out;
}

bool gives_new_name(Tok kind) {
  return is_item(kind) || kind == Tok::LET || kind == Tok::LOOK_UP || kind == Tok::LOOK_UP_EVERY;
}

bool is_number(Tok kind) {
  return kind == Tok::NUMBER || kind == Tok::FRACTION || kind == Tok::MIXED;
}

bool is_text(Tok kind) {
  return kind == Tok::STRING || kind == Tok::UNCLOSED || kind == Tok::CURLY_STRING ||
         kind == Tok::TICKED_STRING;
}

bool needs_blanks(Tok kind) {
  return kind == Tok::MINUS || kind == Tok::STAR || kind == Tok::SLASH;
}

class Tagger {
 public:
  Tagger(Scanner& scanner, std::uint32_t max_depth, Sink& sink)
      : scanner_(scanner), max_depth_(max_depth), sink_(sink) {}

  TaggedWords run() {
    const auto size = static_cast<std::uint32_t>(sink_.source().text().size());
    const std::vector<Token> raw = scanner_.scan({0, size});
    out_.tokens.reserve(raw.size());
    tag(raw);
    return std::move(out_);
  }

 private:
  using Raw = std::span<const Token>;

  void tag(Raw raw) {
    for (std::size_t i = 0; i < raw.size() && out_.usable;)
      i = step(raw, i);
  }

  /// Handles raw[i]; returns the index after what was used.
  std::size_t step(Raw raw, std::size_t i) {
    const Token token = raw[i];
    if (token.kind == Tok::NAME) return word(raw, i);
    if (is_number(token.kind)) return number(raw, i, token.kind);
    if (is_text(token.kind)) {
      string(token);
      return i + 1;
    }
    if (needs_blanks(token.kind)) report_glued_operator(token, last(), sink_);
    if (token.kind == Tok::LPAREN) deeper(token.span);
    if (token.kind == Tok::RPAREN && depth_ > 0) --depth_;
    return other(raw, i);
  }

  std::size_t other(Raw raw, std::size_t i) {
    const Token token = raw[i];
    const Replacement meant = report_raw_mistake(token, sink_, state_);
    if (meant.is_number) return number(raw, i, Tok::NUMBER);
    if (meant.kinds.empty() && !meant.drop) push(token.kind, token.span);
    for (const Tok kind : meant.kinds)
      push(kind, token.span);
    return i + 1;
  }

  // ---------------------------------------------------------------- numbers with their unit

  /// A unit at raw[i], with the parts glued to it by `/`; returns the index after it.
  [[nodiscard]] std::size_t unit_end(Raw raw, std::size_t i) const {
    std::size_t end = i + 1;
    while (end + 1 < raw.size() && raw[end].kind == Tok::SLASH && touches(raw, end) &&
           touches(raw, end + 1) && raw[end + 1].kind == Tok::NAME) {
      end += 2;
    }
    return end;
  }
  static bool touches(Raw raw, std::size_t i) { return raw[i - 1].span.end == raw[i].span.begin; }

  [[nodiscard]] bool on_same_line(Span a, Span b) const {
    return sink_.text({a.end, b.begin}).find('\n') == std::string_view::npos;
  }

  std::size_t number(Raw raw, std::size_t i, Tok kind) {
    push(kind, raw[i].span);
    if (raw[i].kind == Tok::GLUED_UNIT) return i + 1;
    return unit(raw, i + 1, true);
  }

  std::size_t unit(Raw raw, std::size_t i, bool may_have_per) {
    if (i >= raw.size()) return i;
    const Tok kind = raw[i].kind;
    if (kind == Tok::PERCENT) {
      push(Tok::UNIT, raw[i].span);
      return i + 1;
    }
    if ((kind != Tok::NAME && kind != Tok::PATH) || !on_same_line(raw[i - 1].span, raw[i].span)) {
      return i;
    }
    std::size_t end = unit_end(raw, i);
    const Span span{raw[i].span.begin, raw[end - 1].span.end};
    if (!is_unit(sink_.text(span))) {
      if (is_phrase_at(raw, i)) return i;
      report_unknown_unit(span, sink_);
    }
    push(Tok::UNIT, span);
    if (may_have_per && end + 1 < raw.size() && raw[end].kind == Tok::SLASH && touches(raw, end) &&
        touches(raw, end + 1) &&
        (raw[end + 1].kind == Tok::NUMBER || raw[end + 1].kind == Tok::GLUED_UNIT)) {
      push(Tok::PER, raw[end].span);
      if (raw[end + 1].kind == Tok::GLUED_UNIT) {
        report_raw_mistake(raw[end + 1], sink_, state_);
        push(Tok::NUMBER, raw[end + 1].span);
        push(Tok::UNIT, raw[end + 1].span);
        return end + 2;
      }
      push(Tok::NUMBER, raw[end + 1].span);
      return unit(raw, end + 2, false);
    }
    return end;
  }

  // ---------------------------------------------------------------- words

  std::size_t word(Raw raw, std::size_t i) {
    if (const Match match = match_phrase(raw, i); match.words > 0) {
      if (match.in_capitals) report_capitals(match, sink_);
      keyword(match.kind, match.span);
      return i + match.words;
    }
    push(Tok::NAME, raw[i].span);
    return i + 1;
  }

  void keyword(Tok kind, Span span) {
    if (is_item(kind) || is_part(kind)) begin_expression();
    if (kind == Tok::IF) deeper(span);
    push(kind, span);
  }

  bool is_phrase_at(Raw raw, std::size_t i) { return match_phrase(raw, i).words > 0; }

  [[nodiscard]] Match match_phrase(Raw raw, std::size_t i) const {
    const std::string first = lower(sink_.text(raw[i].span));
    for (auto it = first_phrase(first); it != phrases().end(); ++it) {
      if (it->text.substr(0, it->text.find(' ')) != first) break;
      Match match = match_one(raw, i, *it);
      if (match.words == 0 || !fits(it->place, raw, i, match.words)) continue;
      if (match.kind == Tok::ANY_OF && is_query_over_list(raw, i + match.words)) {
        match.kind = Tok::ANY_PART_OF;
      }
      return match;
    }
    return {};
  }

  [[nodiscard]] Match match_one(Raw raw, std::size_t i, const Phrase& phrase) const {
    Match match{phrase.kind, {raw[i].span.begin, raw[i].span.end}, 0, false, phrase.text};
    std::string_view rest = phrase.text;
    std::size_t words = 0;
    for (; !rest.empty(); ++words) {
      const std::size_t blank = std::min(rest.find(' '), rest.size());
      if (i + words >= raw.size() || raw[i + words].kind != Tok::NAME) return {};
      const std::string_view written = sink_.text(raw[i + words].span);
      if (written != rest.substr(0, blank)) {
        if (lower(written) != rest.substr(0, blank)) return {};
        match.in_capitals = true;
      }
      match.span.end = raw[i + words].span.end;
      rest.remove_prefix(std::min(blank + 1, rest.size()));
    }
    match.words = words;
    return match;
  }

  /// `any of LIST where`: a query; without the `where` it is an operand.
  [[nodiscard]] bool is_query_over_list(Raw raw, std::size_t i) const {
    return i + 1 < raw.size() && (raw[i].kind == Tok::NAME || raw[i].kind == Tok::PATH) &&
           is(raw, i + 1, "where");
  }

  [[nodiscard]] bool is(Raw raw, std::size_t i, std::string_view text) const {
    return i < raw.size() && raw[i].kind == Tok::NAME && sink_.text(raw[i].span) == text;
  }

  [[nodiscard]] bool fits(Place place, Raw raw, std::size_t i, std::size_t words) const {
    const Tok before = last();
    const std::size_t next = i + words;
    switch (place) {
      case Place::Always:
        return !gives_new_name(before) || starts_line(raw[i].span);
      case Place::Item:
        return starts_line(raw[i].span);
      case Place::Part:
        return ends_operand(before) || starts_line(raw[i].span);
      case Place::Operator:
        return ends_operand(before);
      case Place::AfterIs:
        return after_is();
      case Place::In:
        return ends_operand(before) || after_is();
      case Place::To:
        return ends_operand(before) || before == Tok::ROUNDED || before == Tok::UP ||
               before == Tok::DOWN;
      case Place::AfterRounded:
        return before == Tok::ROUNDED;
      case Place::AfterOf:
        return before == Tok::OF;
      case Place::BeforeNumber:
        return next < raw.size() && raw[next].kind == Tok::NUMBER && !ends_operand(before);
      case Place::BeforeSource:
        return is(raw, next, "last") || is(raw, next, "earlier") || is(raw, next, "active");
      case Place::BeforeFieldOf:
        return next + 1 < raw.size() &&
               (raw[next].kind == Tok::NAME || raw[next].kind == Tok::PATH) &&
               is(raw, next + 1, "of");
      case Place::BeforeColumn:
        return is(raw, next + 1, "in");
    }
    return false;
  }

  [[nodiscard]] bool after_is() const {
    const std::size_t n = out_.tokens.size();
    return last() == Tok::IS || (last() == Tok::NOT && n > 1 && out_.tokens[n - 2].kind == Tok::IS);
  }

  [[nodiscard]] bool starts_line(Span span) const {
    const std::string_view text = sink_.source().text();
    for (std::size_t i = span.begin; i > 0; --i) {
      const char c = text[i - 1];
      if (c == '\n') return true;
      if (c != ' ' && c != '\t' && c != '\r') return false;
    }
    return true;
  }

  // ---------------------------------------------------------------- texts

  void string(const Token& token) {
    report_string_mistake(token, sink_);
    if (last() == Tok::SAY || last() == Tok::ASK) {
      text(token);
    } else {
      push(Tok::STRING, token.span);
    }
  }

  /// `"At {x} it is {y}."` taken apart; `{{` and `}}` stand for single braces.
  void text(const Token& token) {
    const Span inside = inside_quotes(token, sink_.source());
    const std::string_view source = sink_.source().text();
    push(Tok::TEXT_BEGIN, {token.span.begin, inside.begin});
    std::uint32_t start = inside.begin;
    std::uint32_t at = inside.begin;
    while (at < inside.end && out_.usable) {
      const char c = source[at];
      const bool doubled = at + 1 < inside.end && source[at + 1] == c;
      if ((c == '{' || c == '}') && doubled) {
        at += 2;
      } else if (c == '{') {
        if (at > start) push(Tok::TEXT, {start, at});
        at = insertion(at, inside.end);
        start = at;
      } else {
        if (c == '}') {
          sink_.report(Code::R0117, {at, at + 1}, "found `}` without a `{` before it",
                       "write `}}` for a brace that is to be shown");
        }
        at += c == '\\' && at + 1 < inside.end ? 2 : 1;
      }
    }
    if (inside.end > start) push(Tok::TEXT, {start, inside.end});
    push(Tok::TEXT_END, {inside.end, token.span.end});
  }

  /// `{expression}` from its brace on; returns where the text goes on.
  std::uint32_t insertion(std::uint32_t open, std::uint32_t end) {
    const std::string_view source = sink_.source().text();
    std::uint32_t close = open + 1;
    while (close < end && source[close] != '}' && source[close] != '{')
      ++close;
    if (close == end || source[close] == '{') {
      sink_.report(Code::R0117, {open, open + 1}, "found `{` without a `}` after it",
                   "write `{name}` to show a value, `{{` for a brace that is to be shown");
      return close;
    }
    const std::vector<Token> raw = scanner_.scan({open + 1, close});
    if (raw.empty()) {
      sink_.report(Code::R0117, {open, close + 1}, "found `{}` with nothing in it",
                   "name the value to be shown, as in `{dose}`");
      return close + 1;
    }
    begin_expression();
    push(Tok::INSERT_BEGIN, {open, open + 1});
    tag(raw);
    push(Tok::INSERT_END, {close, close + 1});
    return close + 1;
  }

  // ---------------------------------------------------------------- output

  [[nodiscard]] Tok last() const {
    return out_.tokens.empty() ? Tok::END : out_.tokens.back().kind;
  }
  void push(Tok kind, Span span) {
    out_.tokens.push_back({kind, span});
    if (++length_ <= kLengthPerDepth * max_depth_ || !out_.usable) return;
    sink_.report(Code::R0118, span,
                 "found an expression or list of more than " +
                     std::to_string(kLengthPerDepth * max_depth_) + " words",
                 "name parts of it with `let` lines, or put the list into a table");
    out_.usable = false;
  }

  void begin_expression() {
    depth_ = 0;
    length_ = 0;
  }

  void deeper(Span span) {
    if (++depth_ <= max_depth_ || !out_.usable) return;
    sink_.report(Code::R0118, span,
                 "found more than " + std::to_string(max_depth_) + " levels of brackets",
                 "name parts of it with `let` lines");
    out_.usable = false;
  }

  Scanner& scanner_;  // both outlive the call that made this
  std::uint32_t max_depth_;
  Sink& sink_;
  RawState state_;
  TaggedWords out_;
  std::uint32_t depth_ = 0;
  std::uint32_t length_ = 0;  // of the expression so far; bounds the depth of its tree
};

}  // namespace

TaggedWords tag_words(Scanner& scanner, std::uint32_t max_depth, Sink& sink) {
  return Tagger(scanner, max_depth, sink).run();
}

}  // namespace meniscus::grammar
