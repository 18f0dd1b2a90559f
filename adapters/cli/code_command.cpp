// `meniscus rules explain-code`: the page of a code, or the list of all (contract:
// rules_command.hpp).
#include <string>
#include <string_view>
#include <vector>

#include "adapters/cli/nearest.hpp"
#include "adapters/cli/rules_command.hpp"
#include "adapters/report/wrap.hpp"
#include "engine/base/ascii.hpp"
#include "grammar/diagnostics.hpp"

namespace meniscus::adapters {

namespace {

constexpr std::size_t kCodeWidth = 7;  // "R0203" and two blanks

std::string list_of_codes() {
  std::string out;
  for (const grammar::CodeInfo& code : grammar::all_codes()) {
    out += code.name;
    out += "  ";
    append_wrapped(out, code.title, kCodeWidth, kCodeWidth);
  }
  return out;
}

void append_indented(std::string& out, std::string_view text) {
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    out += "    ";
    out += text.substr(0, end);
    out += '\n';
    text.remove_prefix(std::min(end + 1, text.size()));
  }
}

std::string page_of(const grammar::CodeInfo& code) {
  const grammar::CodePage& page = grammar::page(code.code);
  std::string out(code.name);
  out += "  ";
  out += code.title;
  out += " (";
  out += code.severity_name;
  out += ")\n\n";
  append_wrapped(out, page.means, 0, 0);
  out += "\nWhy it matters: ";
  append_wrapped(out, page.why, std::string_view("Why it matters: ").size(), 0);
  out += "\nHow to mend it: ";
  append_wrapped(out, page.mend, std::string_view("How to mend it: ").size(), 0);
  out += "\nThis brings it about:\n\n";
  append_indented(out, page.wrong);
  out += "\nMended:\n\n";
  append_indented(out, page.right);
  return out;
}

}  // namespace

ExitStatus run_rules_explain_code(const Arguments& arguments, const Console& console) {
  if (arguments.code.empty()) {
    console.say(list_of_codes());
    return ExitStatus::Clean;
  }
  std::string wanted;
  for (const char c : arguments.code)
    wanted += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
  std::vector<std::string_view> known;
  for (const grammar::CodeInfo& code : grammar::all_codes()) {
    if (code.name == wanted) {
      console.say(page_of(code));
      return ExitStatus::Clean;
    }
    known.push_back(code.name);
  }
  const std::string hint = did_you_mean(wanted, known);
  console.complain("there is no code `" + wanted + "`" +
                   (hint.empty() ? "; `meniscus rules explain-code` lists them" : hint));
  return ExitStatus::Usage;
}

}  // namespace meniscus::adapters
