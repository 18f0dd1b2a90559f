// See explain.hpp.  Messages: what was found, then what was needed; one help with what to write.
#include "grammar/frontend/explain.hpp"

#include <algorithm>
#include <array>
#include <string>
#include <string_view>

#include "grammar/frontend/spelling.hpp"

namespace meniscus::grammar {
namespace {

using engine::Span;

constexpr std::size_t kLongestShown = 24;  // bytes of a text repeated in a message
constexpr std::size_t kMostChoices = 4;    // named in a message

std::string quoted(std::string_view text) { return "`" + std::string(text) + "`"; }

bool is_name(Tok kind) { return kind == Tok::NAME || kind == Tok::PATH; }

/// The end of the file, and what stands between quotes: the bytes would say nothing, or too much.
bool is_named_by_kind(Tok kind) {
  return kind == Tok::END || kind == Tok::TEXT_BEGIN || kind == Tok::TEXT || kind == Tok::TEXT_END;
}

std::string found(const Token& token, Sink& sink) {
  const std::string_view text = sink.text(token.span);
  const bool is_long = text.size() > kLongestShown || text.find('\n') != std::string_view::npos;
  if (is_named_by_kind(token.kind) || is_long) return std::string(shown(token.kind));
  return quoted(text);
}

std::string choices(const std::vector<Tok>& needed) {
  std::vector<std::string_view> names;
  for (const Tok kind : needed) {
    if (std::find(names.begin(), names.end(), shown(kind)) == names.end()) {
      names.push_back(shown(kind));
    }
  }
  std::string out;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (i > 0) out += i + 1 == names.size() ? " or " : ", ";
    out += names[i];
  }
  return out;
}

bool starts_line(Span span, const Sink& sink) {
  const std::string_view text = sink.source().text().substr(0, span.begin);
  const std::size_t at = text.find_last_not_of(" \t\r");
  return at == std::string_view::npos || text[at] == '\n';
}

/// Words that people try, with what to write.
struct Hint {
  std::string_view word, help;
};
constexpr auto kHints = std::to_array<Hint>({
    {"differs", "write `differs from ... by more than ...`"},
    {"else", "write `otherwise` after `then`, or `or else` for a value that may be missing"},
    {"equals", "write `is`"},
    {"equal", "write `is`"},
    {"exceeds", "write `>` or `more than`"},
    {"greater", "write `>` or `more than`"},
    {"larger", "write `>` or `more than`"},
    {"smaller", "write `<` or `less than`"},
    {"less", "write `less than`"},
    {"more", "write `more than`"},
    {"above", "write `>` or `more than`"},
    {"below", "write `<` or `less than`"},
    {"over", "write `>` or `more than`"},
    {"under", "write `<` or `less than`"},
    {"times", "write `*`"},
    {"plus", "write `+`"},
    {"minus", "write `-` with blanks around it"},
    {"has", "write `is given`, or `any of ... is ...` for a list"},
    {"isn't", "write `is not`"},
    {"are", "write `is`"},
    {"was", "write `is`"},
    {"look", "write `look up COLUMN in TABLE where ...`"},
    {"latest", "write `latest earlier injection where ...`"},
    {"earliest", "write `earliest earlier injection where ...`"},
    {"number", "write `number of earlier injections where ...`"},
    {"total", "write `total FIELD of earlier injections where ...` or `total FIELD of list LIST`"},
    {"median", "write `median FIELD of earlier injections where ...`"},
    {"days", "write `days since DATE` or `days from DATE to DATE`"},
    {"any", "write `any of LIST`, or `any row of TABLE where ...` in brackets"},
    {"rounded", "write `rounded to`, `rounded up to` or `rounded down to`"},
    {"review", "write `review by 2027-05-01`"},
    {"trial", "write `trial rule NAME until 2027-05-01` at the start of a line"},
    {"extend", "write `extend table NAME from \"file.csv\"` at the start of a line"},
});

std::string hint_for(std::string_view word) {
  const auto* hint =
      std::find_if(kHints.begin(), kHints.end(), [word](const Hint& h) { return h.word == word; });
  return hint == kHints.end() ? std::string() : std::string(hint->help);
}

/// One word of the language that `word` may have been meant for, among those that fit here.
std::string near_word(std::string_view word, const SyntaxFault& fault) {
  std::vector<std::string_view> candidates;
  for (const Phrase& phrase : phrases()) {
    const bool fits =
        std::find(fault.needed.begin(), fault.needed.end(), phrase.kind) != fault.needed.end();
    if (fits) candidates.push_back(phrase.text);
  }
  return nearest(word, candidates);
}

/// What to write where one thing is needed and it is not there.
struct Need {
  Tok needed;
  std::string_view help;
};
constexpr auto kNeeds = std::to_array<Need>({
    {Tok::STRING, "put it into quotes, as in `\"lead nurse\"`"},
    {Tok::TEXT_BEGIN, "put it into quotes, as in `\"Is so much meant?\"`"},
    {Tok::DATE, "write it as in `2026-03-02`"},
    {Tok::EQ, "write `=` between the name and its value"},
    {Tok::WHEN, "write `raise GRADE when CONDITION`"},
    {Tok::WHERE, "say which row or record is meant: `... where CONDITION`"},
    {Tok::IN, "write `look up COLUMN in TABLE where ...`"},
    {Tok::AND, "write `between A and B`"},
    {Tok::THEN, "write `if CONDITION then VALUE otherwise VALUE`"},
    {Tok::OTHERWISE, "write `if CONDITION then VALUE otherwise VALUE`"},
    {Tok::BY_MORE_THAN, "write `differs from VALUE by more than 5 %`"},
    {Tok::ALL_ORDERS, "write `concerns all orders` or `concerns orders where CONDITION`"},
});

std::string help_for_need(const SyntaxFault& fault) {
  if (fault.before.kind == Tok::RAISE) return "write `raise GRADE when CONDITION`";
  if (fault.needed.empty() || fault.needed.size() > 2) return {};
  const auto* need = std::find_if(kNeeds.begin(), kNeeds.end(),
                                  [&](const Need& n) { return n.needed == fault.needed.front(); });
  return need == kNeeds.end() ? std::string() : std::string(need->help);
}

bool is_sign_of_comparison(Tok kind) {
  return kind == Tok::LESS || kind == Tok::LESS_EQUAL || kind == Tok::GREATER ||
         kind == Tok::GREATER_EQUAL;
}

/// For what is no name and stands where a line could have ended.
std::string help_for_sign(const SyntaxFault& fault) {
  if (fault.reading == Reading::File && fault.found.kind == Tok::SLASH) {
    return "a comment begins with `#`";
  }
  const bool is_link = fault.found.kind == Tok::AND || fault.found.kind == Tok::OR;
  if (is_link && fault.reading == Reading::ExampleLines) return "write `,` between two fields";
  if (fault.reading != Reading::RuleLines) return {};
  if (is_link) return "write `,` between the names of a list";
  if (fault.found.kind == Tok::NOT) return "write `not` before the whole comparison";
  if (is_sign_of_comparison(fault.found.kind)) {
    return "compare two values at a time, and join the comparisons with `and`";
  }
  return {};
}

std::string help_for_word(const SyntaxFault& fault, Sink& sink) {
  const std::string_view word = sink.text(fault.found.span);
  if (std::string hint = hint_for(word); !hint.empty()) return hint;
  if (is_name(fault.before.kind)) {
    if (std::string hint = hint_for(sink.text(fault.before.span)); !hint.empty()) return hint;
  }
  if (const std::string near = near_word(word, fault); !near.empty()) {
    return "did you mean " + quoted(near) + "?";
  }
  for (const Phrase& phrase : phrases()) {
    if (phrase.place == Place::Item && phrase.text == word) {
      return "begin a new line with " + quoted(word);
    }
  }
  return {};
}

std::string help_for(const SyntaxFault& fault, Sink& sink) {
  const bool goes_on = !starts_line(fault.found.span, sink);
  const bool is_word = is_name(fault.found.kind);
  std::string help = is_word ? help_for_word(fault, sink) : help_for_sign(fault);
  if (help.empty()) help = help_for_need(fault);
  if (!help.empty() || !is_word || !goes_on) return help;
  if (fault.reading == Reading::ExampleLines) return "write `,` between two fields";
  const bool two_names = fault.reading == Reading::RuleLines && is_name(fault.before.kind);
  return two_names
             ? "write `and` or `or` between two conditions; the words of a name are joined by "
               "hyphens"
             : "";
}

std::string needed_lines(Reading reading) {
  switch (reading) {
    case Reading::File:
      return "a `rule`, `setting`, `table`, `define` or `example`";
    case Reading::RuleLines:
      return "a line of the rule such as `let`, `raise`, `without` or `cite`";
    case Reading::ExampleLines:
      return "`order`, `earlier` or `expect`";
    case Reading::Value:
      return "a value";
    case Reading::Condition:
      return "a condition";
    case Reading::Other:
      break;
  }
  return "something else";
}

bool is_query_word(Tok kind) { return (kind >= Tok::LOOK_UP && kind <= Tok::WEEKLY_DOSE_OF); }

bool ends_expression(Tok kind) {
  return ends_operand(kind) && kind != Tok::TEXT_END && kind != Tok::UNSET &&
         kind != Tok::ALL_ORDERS && kind != Tok::IGNORE;
}

/// Special cases that deserve their own sentence; true when one was reported.
bool explain_specially(const SyntaxFault& fault, Sink& sink) {
  const Span span = fault.found.span;
  const bool needs_value = fault.reading == Reading::Value;
  if (needs_value && is_query_word(fault.found.kind)) {
    sink.report_unless_explained(
        Code::R0113, span,
        "found the query " + quoted(sink.text(span)) + " where it has no clear end",
        "put brackets around the whole query, or name it with a `let` line");
    return true;
  }
  if (needs_value && fault.found.kind == Tok::IF) {
    sink.report_unless_explained(Code::R0113, span, "found `if` inside an expression",
                                 "put brackets around `if ... then ... otherwise ...`");
    return true;
  }
  if (fault.found.kind == Tok::EQ && ends_expression(fault.before.kind) &&
      std::find(fault.needed.begin(), fault.needed.end(), Tok::EQ) == fault.needed.end()) {
    sink.report_unless_explained(Code::R0111, span, "found `=` where values are compared",
                                 "write `is`, or `<`, `>`, `<=`, `>=`");
    return true;
  }
  if (fault.found.kind == Tok::RPAREN && fault.reading != Reading::Value &&
      fault.needed.size() > kMostChoices) {
    sink.report_unless_explained(Code::R0116, span, "found `)` without a `(` before it",
                                 "leave it out, or add the bracket that is missing");
    return true;
  }
  return false;
}

bool is_between_lines(Reading reading) {
  return reading == Reading::File || reading == Reading::RuleLines ||
         reading == Reading::ExampleLines;
}

/// Where the next line was reached too early, the end of the one before is what matters.
void label_line_end(const SyntaxFault& fault, engine::Diagnostic* diagnostic, Sink& sink) {
  if (diagnostic == nullptr || fault.before.kind == Tok::END) return;
  const bool ended = fault.found.kind == Tok::END || starts_line(fault.found.span, sink);
  if (ended) diagnostic->labels.push_back({fault.before.span, "after this"});
}

void explain_open_bracket(const SyntaxFault& fault, Sink& sink) {
  std::string help = help_for(fault, sink);
  const bool ends = fault.found.kind == Tok::END || starts_line(fault.found.span, sink);
  if (help.empty()) help = ends ? "add `)`" : "add `)`, or an operator before this";
  engine::Diagnostic* diagnostic = sink.report_unless_explained(
      Code::R0116, fault.found.span, "found " + found(fault.found, sink) + " where `)` is needed",
      std::move(help));
  if (diagnostic != nullptr) diagnostic->labels.push_back({fault.opening.span, "opened here"});
}

}  // namespace

void explain(const SyntaxFault& fault, Sink& sink) {
  if (explain_specially(fault, sink)) return;
  if (fault.opening.kind == Tok::LPAREN) {
    explain_open_bracket(fault, sink);
    return;
  }
  const std::string what = "found " + found(fault.found, sink);
  const bool few = !fault.needed.empty() && fault.needed.size() <= kMostChoices;
  const bool between_lines = !few && is_between_lines(fault.reading);
  if (between_lines) {
    const bool goes_on = ends_expression(fault.before.kind) &&
                         !starts_line(fault.found.span, sink) &&
                         fault.reading == Reading::RuleLines;
    const std::string needed = goes_on ? " after " + found(fault.before, sink) +
                                             " where `and`, `or`, a sign or a new line is needed"
                                       : " where " + needed_lines(fault.reading) + " is needed";
    sink.report_unless_explained(Code::R0115, fault.found.span, what + needed,
                                 help_for(fault, sink));
    return;
  }
  const bool needs_grade = fault.before.kind == Tok::RAISE;
  const std::string needed = needs_grade ? "a grade (note, caution, clarify or hold)"
                             : few       ? choices(fault.needed)
                                         : needed_lines(fault.reading);
  label_line_end(
      fault,
      sink.report_unless_explained(Code::R0114, fault.found.span,
                                   what + " where " + needed + " is needed", help_for(fault, sink)),
      sink);
}

}  // namespace meniscus::grammar
