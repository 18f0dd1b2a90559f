// See raw_mistakes.hpp.
#include "grammar/frontend/raw_mistakes.hpp"

#include <algorithm>
#include <array>
#include <string>

#include "engine/base/ascii.hpp"
#include "grammar/frontend/units.hpp"

namespace meniscus::grammar {
namespace {

using engine::Span;

std::string quoted(std::string_view text) { return "`" + std::string(text) + "`"; }

/// Characters that word processors and web pages put in place of those of the language.
struct Foreign {
  std::string_view bytes;
  std::string_view name;
  std::string_view write;  // empty: nothing can stand for it
  Tok kind;                // END: left out
};
constexpr auto kForeign = std::to_array<Foreign>({
    {"\xE2\x80\x93", "a long dash", "`-`", Tok::MINUS},
    {"\xE2\x80\x94", "a long dash", "`-`", Tok::MINUS},
    {"\xE2\x80\x90", "a special hyphen", "`-`", Tok::MINUS},
    {"\xE2\x80\x91", "a special hyphen", "`-`", Tok::MINUS},
    {"\xE2\x88\x92", "a special minus sign", "`-`", Tok::MINUS},
    {"\xE2\x89\xA5", "`\xE2\x89\xA5`", "`>=` or `at least`", Tok::GREATER_EQUAL},
    {"\xE2\x89\xA4", "`\xE2\x89\xA4`", "`<=` or `at most`", Tok::LESS_EQUAL},
    {"\xE2\x89\xA0", "`\xE2\x89\xA0`", "`is not`", Tok::END},
    {"\xC3\x97", "`\xC3\x97`", "`*`", Tok::STAR},
    {"\xC3\xB7", "`\xC3\xB7`", "`/`", Tok::SLASH},
    {"\xC2\xB5", "`\xC2\xB5`", "`mcg` for micrograms", Tok::END},
    {"\xCE\xBC", "`\xCE\xBC`", "`mcg` for micrograms", Tok::END},
    {"\xC2\xBD", "`\xC2\xBD`", "`1/2`", Tok::NUMBER},
    {"\xC2\xBC", "`\xC2\xBC`", "`1/4`", Tok::NUMBER},
    {"\xC2\xBE", "`\xC2\xBE`", "`3/4`", Tok::NUMBER},
    {"\xC2\xA0", "a blank that does not break", "an ordinary blank", Tok::END},
    {"\xE2\x80\xAF", "a narrow blank", "an ordinary blank", Tok::END},
    {"\xEF\xBB\xBF", "a byte order mark", "", Tok::END},
    {"\xE2\x80\x9C", "a curly quote", "`\"`", Tok::END},
    {"\xE2\x80\x9D", "a curly quote", "`\"`", Tok::END},
    {"\xE2\x80\x98", "a curly quote", "`\"`", Tok::END},
    {"\xE2\x80\x99", "a curly quote", "`\"`", Tok::END},
    {"\xE2\x80\xA6", "an ellipsis", "", Tok::END},
});

std::size_t character_length(std::string_view text) {
  const auto lead = static_cast<unsigned char>(text.front());
  const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : lead >= 0xC0 ? 2 : 1;
  return std::min(length, text.size());
}

bool is_word_byte(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_';
}

bool touches_word(Span span, std::string_view text) {
  return (span.begin > 0 && is_word_byte(text[span.begin - 1])) ||
         (span.end < text.size() && is_word_byte(text[span.end]));
}

Replacement foreign_letter(const Token& token, Sink& sink) {
  Replacement meant;
  meant.drop = true;
  const std::string_view run = sink.text(token.span);
  if (token.span.begin == 0 && run.starts_with("\xEF\xBB\xBF")) {
    if (run.size() == 3) return meant;  // a byte order mark at the start does no harm
  }
  const std::size_t length = character_length(run);
  const Span first{token.span.begin, token.span.begin + static_cast<std::uint32_t>(length)};
  const auto* known = std::find_if(kForeign.begin(), kForeign.end(),
                                   [&](const Foreign& f) { return run.starts_with(f.bytes); });
  if (known == kForeign.end()) {
    sink.report(Code::R0101, first, "found " + quoted(sink.text(first)) + " outside a text",
                "names are made of the letters a to z, digits and hyphens; put words into quotes");
    if (!touches_word(token.span, sink.source().text())) meant.kinds.push_back(Tok::NAME);
    return meant;
  }
  sink.report(Code::R0101, first, "found " + std::string(known->name) + " outside a text",
              known->write.empty() ? "leave it out" : "write " + std::string(known->write));
  if (known->kind == Tok::NUMBER) meant.is_number = true;
  if (known->kind != Tok::END) meant.kinds.push_back(known->kind);
  return meant;
}

Replacement other_character(const Token& token, Sink& sink) {
  Replacement meant;
  meant.drop = true;
  const std::string_view text = sink.text(token.span);
  const char c = text.front();
  if (c == '\0' || (c < ' ' && c > 0) || c == 0x7F) {
    sink.report(Code::R0102, token.span, "found a control character",
                "save the file as plain text");
    return meant;
  }
  std::string help = "leave it out";
  if (c == ';') help = "lines need no sign at their end; lists are written with `,`";
  if (c == ':') help = "leave it out; a ratio such as `1:1000` goes into quotes";
  if (c == '{' || c == '}') help = "braces stand in `say` and `ask` texts only";
  if (c == '.') help = "write the whole name, as in `vial.volume`, without blanks";
  if (c == '[' || c == ']') help = "use round brackets `(` and `)`";
  if (c == '!') help = "write `not`";
  if (c == '&') help = "write `and`";
  if (c == '|') help = "write `or`";
  if (c == '_') help = "names begin with a letter";
  sink.report(Code::R0101, token.span, "found " + quoted(text) + " outside a text",
              std::move(help));
  return meant;
}

Replacement foreign_sign(const Token& token, Sink& sink) {
  struct Sign {
    std::string_view sign, write;
    std::vector<Tok> kinds;
  };
  static const std::vector<Sign> kSigns = {
      {"==", "write `is` to compare, `=` to give a name", {Tok::IS}},
      {"===", "write `is`", {Tok::IS}},
      {"!=", "write `is not`", {Tok::IS, Tok::NOT}},
      {"!==", "write `is not`", {Tok::IS, Tok::NOT}},
      {"<>", "write `is not`", {Tok::IS, Tok::NOT}},
      {"=>", "write `>=` or `at least`", {Tok::GREATER_EQUAL}},
      {"=<", "write `<=` or `at most`", {Tok::LESS_EQUAL}},
      {"&&", "write `and`", {Tok::AND}},
      {"||", "write `or`", {Tok::OR}},
      {":=", "write `=`", {Tok::EQ}},
      {"**", "write `*` for times", {Tok::STAR}},
  };
  Replacement meant;
  const std::string_view text = sink.text(token.span);
  for (const Sign& sign : kSigns) {
    if (sign.sign != text) continue;
    meant.kinds = sign.kinds;
    sink.report(Code::R0111, token.span,
                "found " + quoted(text) + ", which is no sign of this language",
                std::string(sign.write));
  }
  return meant;
}

Replacement comma_number(const Token& token, Sink& sink) {
  Replacement meant;
  meant.is_number = true;
  std::string written(sink.text(token.span));
  std::string without = written;
  without.erase(std::remove(without.begin(), without.end(), ','), without.end());
  std::string help = "write " + quoted(without) + " for the whole number";
  if (std::count(written.begin(), written.end(), ',') == 1 &&
      written.find('.') == std::string::npos) {
    std::string point = written;
    point[point.find(',')] = '.';
    help = "write " + quoted(point);
    if (written.front() != '0') help += " or " + quoted(without) + ", whichever is meant";
  }
  sink.report(Code::R0105, token.span, "found " + quoted(written) + "; a number has no comma in it",
              std::move(help));
  return meant;
}

Replacement point_number(const Token& token, Sink& sink) {
  Replacement meant;
  meant.is_number = true;
  const std::string written(sink.text(token.span));
  const bool leading = written.front() == '.';
  const std::string better = leading ? "0" + written : written.substr(0, written.size() - 1);
  sink.report(Code::R0106, token.span,
              "found " + quoted(written) + "; a decimal point needs a digit on both sides",
              "write " + quoted(better));
  return meant;
}

Replacement other_date(const Token& token, Sink& sink) {
  Replacement meant;
  meant.kinds = {Tok::DATE};
  sink.report(Code::R0109, token.span,
              "found " + quoted(sink.text(token.span)) +
                  "; a date is written year, month, day with all its digits",
              "write it as in `2026-03-02`");
  return meant;
}

Replacement glued_unit(const Token& token, Sink& sink) {
  Replacement meant;
  meant.is_number = true;
  const std::string_view written = sink.text(token.span);
  const std::size_t cut = written.find_first_not_of("0123456789./");
  const std::string_view tail = written.substr(cut);
  if ((tail.front() == 'e' || tail.front() == 'E') && tail.size() > 1 &&
      tail.find_first_not_of("0123456789", 1) == std::string_view::npos) {
    sink.report(Code::R0106, token.span, "found " + quoted(written) + "; a number has no exponent",
                "write the number out");
    return meant;
  }
  const std::string near = is_unit(tail) ? std::string(tail) : near_unit(tail);
  std::string help = "write " + quoted(std::string(written.substr(0, cut)) + " " +
                                       (near.empty() ? std::string(tail) : near));
  if (!is_unit(tail)) help += "; a code that begins with a digit goes into quotes";
  sink.report(Code::R0107, token.span,
              "found " + quoted(written) + "; a number and its unit need a blank between them",
              std::move(help));
  return meant;
}

Replacement glued_minus(const Token& token, Sink& sink) {
  const std::string written(sink.text(token.span));
  const std::size_t dash = written.rfind('-');
  sink.report(Code::R0108, token.span,
              "found " + quoted(written) + "; a hyphen belongs to the name before it",
              "write " + quoted(written.substr(0, dash) + " - " + written.substr(dash + 1)));
  Replacement meant;
  meant.kinds = {Tok::NAME};
  return meant;
}

Replacement tab(const Token& token, Sink& sink, RawState& state) {
  Replacement meant;
  meant.drop = true;
  if (!state.tab_reported) {
    sink.report(Code::R0103, {token.span.begin, token.span.begin + 1}, "found a tab",
                "use blanks; the other tabs of this file are not shown");
  }
  state.tab_reported = true;
  return meant;
}

struct Mistake {
  Tok kind;
  Replacement (*report)(const Token& token, Sink& sink);
};
constexpr auto kMistakes = std::to_array<Mistake>({{Tok::COMMA_NUMBER, comma_number},
                                                   {Tok::POINT_NUMBER, point_number},
                                                   {Tok::OTHER_DATE, other_date},
                                                   {Tok::GLUED_UNIT, glued_unit},
                                                   {Tok::GLUED_MINUS, glued_minus},
                                                   {Tok::FOREIGN_SIGN, foreign_sign},
                                                   {Tok::FOREIGN_LETTER, foreign_letter},
                                                   {Tok::OTHER, other_character}});

}  // namespace

Replacement report_raw_mistake(const Token& token, Sink& sink, RawState& state) {
  if (token.kind == Tok::TAB) return tab(token, sink, state);
  for (const Mistake& mistake : kMistakes) {
    if (mistake.kind == token.kind) return mistake.report(token, sink);
  }
  return {};
}

void report_capitals(const Match& match, Sink& sink) {
  sink.report(Code::R0110, match.span,
              "found " + quoted(sink.text(match.span)) +
                  "; the words of the language are written in small letters",
              "write " + quoted(match.phrase) + ", or put it into quotes if it is a code");
}

namespace {
/// `April`, `apr`: of a date in words.
bool is_month(std::string_view word) {
  static constexpr auto kMonths = std::to_array<std::string_view>(
      {"january", "february", "march", "april", "may", "june", "july", "august", "september",
       "october", "november", "december"});
  std::string small(word);
  std::transform(small.begin(), small.end(), small.begin(), engine::ascii::lower);
  return small.size() >= 3 && std::any_of(kMonths.begin(), kMonths.end(),
                                          [&](std::string_view m) { return m.starts_with(small); });
}
}  // namespace

void report_unknown_unit(Span span, Sink& sink) {
  const std::string_view written = sink.text(span);
  if (is_month(written)) {
    sink.report(Code::R0109, span,
                "found the month " + quoted(written) + "; a date is written in figures",
                "write it year, month, day, as in `2026-03-02`");
    return;
  }
  const std::string near = near_unit(written);
  std::string help =
      "after a number stands its unit, a sign, a word such as `and`, or the end of the line";
  if (!near.empty()) help = "did you mean " + quoted(near) + "?";
  sink.report(Code::R0112, span, "found the unknown unit " + quoted(written), std::move(help));
}

void report_glued_operator(const Token& token, Tok before, Sink& sink) {
  const std::string_view text = sink.source().text();
  const bool left = token.span.begin > 0 && is_word_byte(text[token.span.begin - 1]);
  const bool right = token.span.end < text.size() && is_word_byte(text[token.span.end]);
  const bool is_sign = token.kind == Tok::MINUS && !left && !ends_operand(before);
  if ((!left && !right) || is_sign) return;
  const std::string_view sign = sink.text(token.span);
  sink.report(Code::R0108, token.span, "found " + quoted(sign) + " without blanks around it",
              "write a blank before and after " + quoted(sign));
}

void report_string_mistake(const Token& token, Sink& sink) {
  const std::string_view text = sink.text(token.span);
  if (token.kind == Tok::UNCLOSED) {
    const bool curly = text.find("\xE2\x80\x9D") != std::string_view::npos;
    sink.report(Code::R0104, {token.span.begin, token.span.begin + 1},
                "found a text without its closing quote",
                curly ? "write `\"` in place of the curly quote"
                      : "put `\"` at the end of the text; a text stands on one line");
  } else if (token.kind == Tok::CURLY_STRING) {
    sink.report(Code::R0101, {token.span.begin, token.span.begin + 3},
                "found a text in curly quotes", "write `\"` on both sides");
  } else if (token.kind == Tok::TICKED_STRING) {
    sink.report(Code::R0101, {token.span.begin, token.span.begin + 1},
                "found a text in single quotes", "write `\"` on both sides");
  }
}

Span inside_quotes(const Token& token, const engine::SourceText& source) {
  const std::string_view text = source.slice(token.span);
  const std::uint32_t quote = text.starts_with("\xE2\x80") ? 3 : 1;
  const bool closed = text.size() >= 2UL * quote &&
                      (quote == 3 || (token.kind != Tok::UNCLOSED && text.back() == text.front()));
  return {token.span.begin + quote, token.span.end - (closed ? quote : 0)};
}

}  // namespace meniscus::grammar
