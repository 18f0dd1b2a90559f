// Contract: see rule_set.hpp.
#include "adapters/cli/rule_set.hpp"

#include "adapters/cli/nearest.hpp"
#include "adapters/report/local_changes.hpp"
#include "adapters/text/re2_pattern.hpp"

namespace meniscus::adapters {

std::int64_t rules_day(const Arguments& arguments, const Console& console) {
  if (arguments.rules_as_of) return *arguments.rules_as_of;
  return arguments.as_of.value_or(console.today);
}

LoadOptions load_options(const Arguments& arguments, const Console& console) {
  LoadOptions options;
  if (!arguments.only_rules) {
    options.shipped = find_shipped_rules(console.program, console.rules_path.c_str()).path;
  }
  options.rules_day = rules_day(arguments, console);
  options.allow_mute_hold = arguments.allow_mute_hold;
  const Command command = arguments.command;
  options.examples = command != Command::Check && command != Command::Explain &&
                     command != Command::Answer && command != Command::Answers &&
                     command != Command::RulesCase && command != Command::RulesTry;
  return options;
}

engine::Result<std::vector<std::string>> rule_paths(const Arguments& arguments,
                                                    const Console& console) {
  std::vector<std::string> paths = arguments.rules;
  const Command command = arguments.command;
  if (command == Command::RulesLint || command == Command::RulesTest ||
      command == Command::RulesList || command == Command::RulesPage) {
    paths.insert(paths.end(), arguments.files.begin(), arguments.files.end());
  }
  if (arguments.only_rules) return paths;
  const Shipped shipped = find_shipped_rules(console.program, console.rules_path.c_str());
  if (shipped.path.empty()) {
    std::string sentence = "the shipped rules are not there; set MENISCUS_RULES to their folder";
    sentence += " or name rules with --only-rules --rules PATH (looked in";
    for (const std::string& place : shipped.looked_in)
      sentence += " " + place;
    return engine::Error{engine::Errc::Usage, sentence + ")", 0, 0};
  }
  paths.push_back(shipped.path);
  return paths;
}

std::shared_ptr<const engine::Program> load_rule_set(const Arguments& arguments,
                                                     const Console& console,
                                                     const RuleSetOptions& wanted) {
  auto paths = rule_paths(arguments, console);
  if (!paths) {
    console.complain(paths.error().message);
    return nullptr;
  }
  LoadOptions options = load_options(arguments, console);
  options.apply_changes = wanted.apply_changes;
  if (wanted.with_files)
    paths->insert(paths->begin(), arguments.files.begin(), arguments.files.end());
  const LoadedRules loaded = load_rules(*paths, re2_patterns(), options);
  if (const std::string damage = damage_sentence(loaded.compiled); !damage.empty())
    console.complain(damage);
  for (const std::string& sentence : loaded.unreadable)
    console.complain(sentence);
  for (const engine::Diagnostic& diagnostic : loaded.diagnostics) {
    if (diagnostic.severity == engine::Severity::Error) console.say_err(render(diagnostic) + "\n");
  }
  if (loaded.program == nullptr) console.complain("the rules have mistakes; nothing was judged");
  return loaded.program;
}

void say_local_changes(const engine::Program& program, const Console& console) {
  for (const engine::LocalChange& change : program.changes)
    console.complain((change.over ? "no longer in force: " : "in force: ") +
                     change_sentence(change));
}

std::optional<std::uint32_t> find_rule(const engine::Program& program, const std::string& name,
                                       const Console& console) {
  std::vector<std::string_view> known;
  for (std::uint32_t i = 0; i < program.rules.size(); ++i) {
    if (program.rules[i].name == name) return i;
    known.push_back(program.rules[i].name);
  }
  if (engine::is_built_in(name)) {
    console.complain("`" + name +
                     "` is not a rule of the files but what the program says of an order that it "
                     "cannot read as it stands; mend what it names in the order");
    return std::nullopt;
  }
  const std::string hint = did_you_mean(name, known);
  console.complain("there is no rule `" + name + "`" +
                   (hint.empty() ? "; `meniscus rules list` names them" : hint));
  return std::nullopt;
}

}  // namespace meniscus::adapters
