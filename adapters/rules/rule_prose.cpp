// Contract: see rule_prose.hpp.
#include "adapters/rules/rule_prose.hpp"

#include <algorithm>

#include "adapters/rules/pattern_words.hpp"
#include "adapters/rules/rule_reads.hpp"

namespace meniscus::adapters {

namespace {
struct Wording {
  std::string_view written;
  std::string_view read;
};
// How the signs and the queries of the language are read aloud.
constexpr Wording kWordings[] = {
    {" >= ", " is at least "},
    {" <= ", " is at most "},
    {" > ", " is more than "},
    {" < ", " is less than "},
    {" * ", " times "},
    {" / ", " divided by "},
    {"any row of ", "a row of the table "},
    {"look up every ", "every "},
    {"look up ", "the "},
    {"row.", "the row's "},
    {"earlier.", "the earlier one's "},
    {"active.", "the other order's "},
    {"each.", "the part's "},
    {"previous.", "the part before's "},
};

void replace_all(std::string& text, const Wording& wording) {
  for (std::size_t at = text.find(wording.written); at != std::string::npos;
       at = text.find(wording.written, at)) {
    // A word is replaced where it begins, not inside another: `earlier.` but not `x-earlier.`.
    const bool inside =
        at > 0 && is_name_char(wording.written.front()) && is_name_char(text[at - 1]);
    if (inside) {
      at += wording.written.size();
      continue;
    }
    text.replace(at, wording.written.size(), wording.read);
    at += wording.read.size();
  }
}

/// The text in quotes at the start of `code`, with them.
std::string_view quoted_text(std::string_view code) {
  std::size_t end = 1;
  while (end < code.size() && code[end] != '"')
    end += code[end] == '\\' ? 2 : 1;
  return code.substr(0, end + 1);
}
}  // namespace

bool is_name_char(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' ||
         c == '.';
}

RuleProse::RuleProse(const engine::Program& program) {
  for (const engine::Setting& setting : program.settings)
    settings_.emplace(setting.name, &setting);
}

const engine::Setting* RuleProse::setting(std::string_view name) const {
  const auto at = settings_.find(name);
  return at == settings_.end() ? nullptr : at->second;
}

std::string RuleProse::operator()(std::string_view code) const {
  constexpr std::string_view kMatches = " matches ";
  std::string text;
  std::string plain;  // not yet put in words
  const auto settle = [&] {
    for (const Wording& wording : kWordings)
      replace_all(plain, wording);
    text += plain;
    plain.clear();
  };
  while (!code.empty()) {
    if (code.front() == '"') {
      const bool pattern = plain.ends_with(kMatches);
      const std::string_view quoted = quoted_text(code);
      settle();
      text += quoted;
      const std::string words =
          pattern && quoted.size() > 2 ? pattern_words(quoted.substr(1, quoted.size() - 2)) : "";
      if (!words.empty()) text += " (a pattern: " + words + ")";
      code.remove_prefix(std::min(quoted.size(), code.size()));
      continue;
    }
    std::size_t end = 0;
    while (end < code.size() && is_name_char(code[end]))
      ++end;
    const std::string_view word = code.substr(0, std::max<std::size_t>(end, 1));
    plain += word;
    if (const engine::Setting* known = setting(word)) plain += " (" + setting_text(*known) + ")";
    code.remove_prefix(word.size());
  }
  settle();
  return text;
}

}  // namespace meniscus::adapters
