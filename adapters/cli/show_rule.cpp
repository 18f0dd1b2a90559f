// `meniscus rules show NAME`: one rule as its readers need it.
#include <algorithm>
#include <string>
#include <string_view>

#include "adapters/cli/rule_set.hpp"
#include "adapters/cli/rules_command.hpp"
#include "adapters/report/local_changes.hpp"
#include "adapters/report/wrap.hpp"
#include "adapters/rules/rule_prose.hpp"
#include "adapters/rules/rule_reads.hpp"
#include "adapters/rules/rule_text.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {

namespace {
using engine::Program;
using engine::Rule;

void append_settings(std::string& out, const Program& program, const Rule& rule) {
  for (const std::uint32_t index : reads_of(program, rule).settings) {
    const engine::Setting& setting = program.settings[index];
    out += "setting   " + setting.name + " = " + setting_text(setting);
    if (setting.least && setting.most) out += ", between " + range_text(setting, " and ");
    if (!setting.title.empty()) out += ": " + setting.title;
    out += '\n';
  }
}

void append_line(std::string& out, std::string_view label, std::string_view text) {
  if (text.empty()) return;
  out += label;
  out += text;
  out += '\n';
}

bool is_about(const engine::Example& example, const std::string& rule) {
  return std::any_of(example.expectations.begin(), example.expectations.end(),
                     [&](const engine::Expectation& e) { return e.rule == rule; });
}

void append_example(std::string& out, const engine::Example& example, const std::string& rule) {
  out += "example   " + example.title + ": ";
  const char* separator = "";
  for (const engine::Expectation& expectation : example.expectations) {
    if (expectation.rule != rule) continue;
    out += separator;
    out += expectation.nothing ? "nothing" : engine::name(*expectation.outcome);
    separator = ", ";
  }
  out += " (" + example.file + ":" + std::to_string(example.line) + ")\n";
}

std::string reviewed(const Rule& rule) {
  std::string text;
  if (rule.reviewed) text += engine::format_day(*rule.reviewed);
  if (rule.review_by) text += ", again by " + engine::format_day(*rule.review_by);
  return text;
}

/// Of those that are set aside, else of those in force; complains when there is none.
const Rule* rule_to_show(const Program& program, const std::string& name, const Console& console) {
  const auto aside = std::find_if(program.aside.begin(), program.aside.end(),
                                  [&](const Rule& rule) { return rule.name == name; });
  if (aside != program.aside.end()) return &*aside;
  const auto number = find_rule(program, name, console);
  return number ? &program.rules[*number] : nullptr;
}

/// What a site changes in the rule, its settings and the tables that it looks into.
void append_changes_of(std::string& out, const Program& program, const Rule& rule) {
  const RuleReads reads = reads_of(program, rule);
  const auto touches = [&](const engine::LocalChange& change) {
    if (change.kind == engine::ChangeKind::Adjust) {
      return std::any_of(reads.settings.begin(), reads.settings.end(), [&](std::uint32_t index) {
        return program.settings[index].name == change.target;
      });
    }
    if (change.kind == engine::ChangeKind::Extend) {
      return std::any_of(reads.tables.begin(), reads.tables.end(), [&](std::uint32_t index) {
        return program.tables[index].name == change.target;
      });
    }
    return change.target == rule.name;
  };
  bool retired = false;
  for (const engine::LocalChange& change : program.changes) {
    if (!touches(change)) continue;
    retired = retired || (change.kind == engine::ChangeKind::Retire && !change.over);
    out += "change    " + change_sentence(change) + '\n';
  }
  const bool aside = std::any_of(program.aside.begin(), program.aside.end(),
                                 [&](const Rule& each) { return &each == &rule; });
  if (aside && !retired) {
    out += "force     not in force on " + engine::format_day(program.rules_day) + '\n';
  }
}

void append_saying(std::string& out, const std::string& say, const std::string& ask) {
  constexpr std::size_t kIndent = 10;
  const auto append = [&](std::string_view label, const std::string& text) {
    if (text.empty()) return;
    out.append(kIndent, ' ');
    append_wrapped(out, std::string(label) + "\"" + text + "\"", kIndent, kIndent + 2);
  };
  append("says: ", say);
  append("asks: ", ask);
}

void append_grade(std::string& out, const std::string& grade, const std::string& text) {
  out += grade;
  out.append(std::max<std::size_t>(10, grade.size() + 1) - grade.size(), ' ');
  append_wrapped(out, text, 10, 10);
}

/// What the rule looks at and when it speaks, with its figures.
void append_words(std::string& out, const Program& program, const Rule& rule) {
  const RuleText text = split_rule(rule.text);
  const RuleProse prose(program);
  append_grade(out, "about", text.concerns.empty() ? "all orders" : prose(text.concerns));
  for (const ClauseText& clause : text.clauses) {
    append_grade(out, clause.grade, "when " + prose(clause.when));
    append_saying(out, clause.say, clause.ask);
  }
  for (const WithoutText& without : text.withouts) {
    const bool silent = without.grade.empty();
    append_grade(out, silent ? "silent" : without.grade,
                 "where it cannot be told for lack of " + without.fields);
    append_saying(out, without.say, without.ask);
  }
  for (const auto& [name, expression] : text.lets)
    append_grade(out, "where", name + " is " + prose(expression));
  out += '\n';
}
}  // namespace

ExitStatus run_rules_show(const Arguments& arguments, const Console& console) {
  const auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  const Rule* rule = rule_to_show(*program, arguments.rule_name, console);
  if (rule == nullptr) return ExitStatus::Usage;
  std::string out = rule->name + ": " + rule->title + "\n\n";
  append_words(out, *program, *rule);
  out += "As it is written:\n\n" + rule->text;
  while (!out.empty() && (out.back() == '\n' || out.back() == ' '))
    out.pop_back();
  out += "\n\n";
  append_line(out, "file      ", rule->file + ":" + std::to_string(rule->line));
  append_line(out, "source    ", rule->cite);
  append_line(out, "owner     ", rule->owner);
  append_line(out, "reviewed  ", reviewed(*rule));
  append_settings(out, *program, *rule);
  append_changes_of(out, *program, *rule);
  for (const engine::Example& example : program->examples) {
    if (is_about(example, rule->name)) append_example(out, example, rule->name);
  }
  console.say(out);
  return ExitStatus::Clean;
}

}  // namespace meniscus::adapters
