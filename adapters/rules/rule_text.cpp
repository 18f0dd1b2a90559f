// Contract: see rule_text.hpp.
#include "adapters/rules/rule_text.hpp"

#include <algorithm>
#include <array>

#include "engine/base/one_line.hpp"

namespace meniscus::adapters {

namespace {
constexpr std::array<std::string_view, 11> kParts = {"rule", "concerns", "let",     "raise",
                                                     "say",  "ask",      "blames",  "without",
                                                     "cite", "owner",    "reviewed"};

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

std::string_view trimmed(std::string_view line) {
  while (!line.empty() && is_blank(line.back()))
    line.remove_suffix(1);
  while (!line.empty() && is_blank(line.front()))
    line.remove_prefix(1);
  return line;
}

struct Part {
  std::string keyword;
  std::string body;  // words parted by single blanks
};

/// Takes the next word off `text`: a text in quotes, with what touches it, is one word.
std::string_view next_word(std::string_view& text) {
  std::size_t at = 0;
  while (at < text.size() && is_blank(text[at]))
    ++at;
  text.remove_prefix(at);
  std::size_t end = 0;
  bool quoted = false;
  while (end < text.size() && (quoted || !is_blank(text[end]))) {
    if (text[end] == '"') quoted = !quoted;
    ++end;
  }
  const std::string_view word = text.substr(0, end);
  text.remove_prefix(end);
  return word;
}

std::vector<Part> parts_of(std::string_view source) {
  const std::string plain = engine::without_comments(source);
  std::string_view rest = plain;
  std::vector<Part> parts;
  std::ptrdiff_t depth = 0;
  while (true) {
    const std::string_view word = next_word(rest);
    if (word.empty()) return parts;
    const bool keyword =
        depth == 0 && std::find(kParts.begin(), kParts.end(), word) != kParts.end();
    if (keyword || parts.empty()) {
      parts.push_back({std::string(word), {}});
      continue;
    }
    if (word.front() != '"') {
      depth +=
          std::count(word.begin(), word.end(), '(') - std::count(word.begin(), word.end(), ')');
    }
    std::string& body = parts.back().body;
    if (!body.empty()) body += ' ';
    body += word;
  }
}

std::string unquoted(const std::string& body) {
  const std::size_t first = body.find('"');
  const std::size_t last = body.rfind('"');
  return first == last ? body : body.substr(first + 1, last - first - 1);
}

void take_raise(RuleText& rule, const std::string& body, bool after_without) {
  const std::size_t when = body.find(" when ");
  if (when == std::string::npos) {
    if (after_without && !rule.withouts.empty()) rule.withouts.back().grade = body;
    return;
  }
  ClauseText clause;
  clause.grade = body.substr(0, when);
  clause.when = body.substr(when + 6);
  rule.clauses.push_back(std::move(clause));
}

void take_without(RuleText& rule, std::string body) {
  constexpr std::string_view kIgnore = " ignore";
  if (body.ends_with(kIgnore)) body.resize(body.size() - kIgnore.size());
  rule.withouts.push_back({std::move(body), {}, {}, {}});
}

void take_let(RuleText& rule, const std::string& body) {
  const std::size_t equals = body.find(" = ");
  if (equals != std::string::npos)
    rule.lets.emplace_back(body.substr(0, equals), body.substr(equals + 3));
}

/// What stands between the name of a rule and its title.
void take_dates(RuleText& rule, std::string_view head) {
  head = head.substr(0, head.find('"'));
  head.remove_prefix(std::min(head.find(' '), head.size()));
  rule.dates = trimmed(head);
}

/// What the last `without`, or the last case, says, asks and blames.
void take_words(RuleText& rule, Part& part, bool after_without) {
  if (after_without && !rule.withouts.empty()) {
    if (part.keyword == "say") rule.withouts.back().say = unquoted(part.body);
    if (part.keyword == "ask") rule.withouts.back().ask = unquoted(part.body);
  } else if (!rule.clauses.empty()) {
    if (part.keyword == "say") rule.clauses.back().say = unquoted(part.body);
    if (part.keyword == "ask") rule.clauses.back().ask = unquoted(part.body);
    if (part.keyword == "blames") rule.clauses.back().blames = std::move(part.body);
  }
}
}  // namespace

RuleText split_rule(std::string_view source) {
  RuleText rule;
  bool after_without = false;  // what is said belongs to the last `without`
  for (Part& part : parts_of(source)) {
    if (part.keyword == "rule") {
      take_dates(rule, part.body);
    } else if (part.keyword == "concerns") {
      rule.concerns = std::move(part.body);
    } else if (part.keyword == "let") {
      take_let(rule, part.body);
    } else if (part.keyword == "without") {
      take_without(rule, std::move(part.body));
      after_without = true;
    } else if (part.keyword == "raise") {
      const std::size_t before = rule.clauses.size();
      take_raise(rule, part.body, after_without);
      after_without = after_without && rule.clauses.size() == before;
    } else {
      take_words(rule, part, after_without);
    }
  }
  return rule;
}

std::vector<Paragraph> paragraphs(std::string_view source) {
  std::vector<Paragraph> all(1);
  while (!source.empty()) {
    const std::size_t end = std::min(source.find('\n'), source.size());
    const std::string_view whole = source.substr(0, end);
    const std::string_view line = trimmed(whole);
    source.remove_prefix(std::min(end + 1, source.size()));
    Paragraph& last = all.back();
    if (line.empty()) {
      if (!last.comment.empty() || !last.lines.empty()) all.emplace_back();
    } else if (line.front() == '#') {
      if (!last.lines.empty()) all.emplace_back();
      std::string& comment = all.back().comment;
      if (!comment.empty()) comment += ' ';
      comment += trimmed(line.substr(1));
    } else if (is_blank(whole.front()) && !last.lines.empty()) {
      last.lines.back().append(" ").append(line);
    } else {
      last.lines.emplace_back(line);
    }
  }
  return all;
}

}  // namespace meniscus::adapters
