// `meniscus rules show NAME`: one rule as its readers need it.
#include <algorithm>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/cli/nearest.hpp"
#include "adapters/cli/rule_set.hpp"
#include "adapters/cli/rules_command.hpp"
#include "adapters/report/output.hpp"
#include "engine/quantity/calendar.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters {

namespace {
using engine::kNoNode;
using engine::NodeId;
using engine::Op;
using engine::Program;
using engine::Rule;

/// Collects the settings that a rule's expressions read, through lets, defines, look-ups and
/// queries alike.
class SettingsOf {
 public:
  explicit SettingsOf(const Program& program) : program_(program) {}

  std::set<std::uint32_t> operator()(const Rule& rule) {
    visit(rule.concerns);
    for (const engine::Clause& clause : rule.clauses) {
      visit(clause.when);
      visit(clause.say);
      visit(clause.ask);
    }
    for (const engine::Without& without : rule.withouts) {
      settings_.insert(without.settings.begin(), without.settings.end());
    }
    return settings_;
  }

 private:
  void visit(const engine::Template& text) {
    for (const auto& piece : text.pieces)
      visit(piece.node);
  }

  void visit(NodeId first) {
    std::vector<NodeId> open{first};
    while (!open.empty()) {
      const NodeId id = open.back();
      open.pop_back();
      if (id == kNoNode || !seen_.insert(id).second) continue;
      const engine::Node& node = program_.nodes[id];
      if (node.op == Op::Setting) settings_.insert(node.a);
      open.insert(open.end(), {node.x, node.y, node.z});
      if (node.op == Op::IsOneOf) {
        const auto& list = program_.lists[node.a];
        open.insert(open.end(), list.begin(), list.end());
      } else if (node.op == Op::LookUp || node.op == Op::LookUpEvery || node.op == Op::AnyRow) {
        const engine::LookUp& lookup = program_.lookups[node.a];
        open.insert(open.end(), {lookup.where, lookup.otherwise});
      } else if (node.op == Op::Query) {
        const engine::Query& query = program_.queries[node.a];
        open.insert(open.end(), {query.where, query.value, query.list});
      }
    }
  }

  const Program& program_;
  std::set<std::uint32_t> settings_;
  std::set<NodeId> seen_;
};

std::string shown(const engine::Setting& setting, double number) {
  if (setting.percent) return engine::format_number(number * 100) + " %";
  if (setting.dimension.is_number()) return engine::format_number(number);
  return engine::format_quantity({number, setting.dimension});
}

std::string shown(const engine::Setting& setting) {
  if (!setting.value.known()) return "unset";
  if (setting.type == engine::Type::Quantity) return shown(setting, setting.value.number);
  if (setting.type == engine::Type::Date) {
    return engine::format_date(engine::unpack(setting.value.number, setting.value.aux));
  }
  return std::string(setting.value.text);
}

void append_settings(std::string& out, const Program& program, const Rule& rule) {
  for (const std::uint32_t index : SettingsOf(program)(rule)) {
    const engine::Setting& setting = program.settings[index];
    out += "setting   " + setting.name + " = " + shown(setting);
    if (setting.least && setting.most) {
      out +=
          ", between " + shown(setting, *setting.least) + " and " + shown(setting, *setting.most);
    }
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

ExitStatus unknown_rule(const Program& program, const std::string& name, const Console& console) {
  std::vector<std::string_view> known;
  for (const Rule& rule : program.rules)
    known.push_back(rule.name);
  const std::string hint = did_you_mean(name, known);
  console.complain("there is no rule `" + name + "`" +
                   (hint.empty() ? "; `meniscus rules list` names them" : hint));
  return ExitStatus::Usage;
}
}  // namespace

ExitStatus run_rules_show(const Arguments& arguments, const Console& console) {
  const auto program = load_rule_set(arguments, console);
  if (program == nullptr) return ExitStatus::Usage;
  const auto rule =
      std::find_if(program->rules.begin(), program->rules.end(),
                   [&](const Rule& candidate) { return candidate.name == arguments.rule_name; });
  if (rule == program->rules.end()) return unknown_rule(*program, arguments.rule_name, console);
  std::string out = rule->name + ": " + rule->title + "\n\n" + rule->text;
  while (!out.empty() && (out.back() == '\n' || out.back() == ' '))
    out.pop_back();
  out += "\n\n";
  append_line(out, "file      ", rule->file + ":" + std::to_string(rule->line));
  append_line(out, "source    ", rule->cite);
  append_line(out, "owner     ", rule->owner);
  append_line(out, "reviewed  ", reviewed(*rule));
  append_settings(out, *program, *rule);
  for (const engine::Example& example : program->examples) {
    if (is_about(example, rule->name)) append_example(out, example, rule->name);
  }
  console.say(out);
  return ExitStatus::Clean;
}

}  // namespace meniscus::adapters
