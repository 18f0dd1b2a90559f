// The stages of a compilation, in order: read, choose versions, load tables, lower, change, finish.
#include "grammar/compile.hpp"

#include <utility>

#include "grammar/frontend/parse.hpp"
#include "grammar/lint/lint.hpp"
#include "grammar/lower/changes.hpp"
#include "grammar/lower/rules.hpp"
#include "grammar/lower/sha256.hpp"
#include "grammar/lower/tables.hpp"
#include "grammar/lower/versions.hpp"

namespace meniscus::grammar {
namespace {

void read_units(Workspace& workspace, const std::vector<RuleSource>& sources, Sha256& hash) {
  ParseLimits limits;
  limits.max_bytes = workspace.options.max_bytes;
  limits.max_depth = workspace.options.max_depth;
  limits.max_diagnostics = workspace.options.max_diagnostics;
  limits.examples = workspace.options.examples;
  for (const RuleSource& each : sources) {
    auto text = std::make_shared<const engine::SourceText>(each.name, each.text);
    const SourceId source = workspace.report.add_source(text);
    Parsed parsed = parse(std::move(text), limits);
    for (engine::Diagnostic& diagnostic : parsed.diagnostics) {
      workspace.report.adopt(source, std::move(diagnostic));
    }
    workspace.units.push_back({source, std::move(parsed.file), each.shipped});
    for (const std::string* part : {&each.name, &each.text}) {
      hash.update(*part);
      hash.update(std::string_view("\0", 1));
    }
  }
}

void hash_standings(const Workspace& workspace, Sha256& hash) {
  const auto update = [&](const auto& declarations) {
    for (const auto& each : declarations) {
      if (each.from.text.empty() && each.until.text.empty()) continue;
      const auto mark = static_cast<char>('0' + static_cast<int>(standing(workspace, each)));
      hash.update(std::string_view(&mark, 1));
    }
  };
  for (const Unit& unit : workspace.units) {
    update(unit.file->settings);
    update(unit.file->tables);
    update(unit.file->rules);
  }
}

/// The text does not say what is in force: the rules' day and the host's leave do.
void hash_choices(const Workspace& workspace, Sha256& hash) {
  hash_standings(workspace, hash);
  for (const engine::LocalChange& change : workspace.program->changes)
    hash.update(change.over ? "over" : "in force");
  if (workspace.changes.empty()) return;
  hash.update(workspace.options.allow_mute_hold ? "holds too" : "no holds");
}

}  // namespace

Compiled compile(const std::vector<RuleSource>& sources, const CompileOptions& options) {
  Workspace workspace(options);
  Sha256 hash;
  workspace.program->rules_day = options.rules_day;
  read_units(workspace, sources, hash);
  check_versions(workspace);
  read_changes(workspace);
  load_tables(workspace, hash);
  lower_settings(workspace);
  adjust_settings(workspace);
  lower_defines(workspace);
  lower_rules(workspace);
  change_rules(workspace);
  set_rules_aside(workspace);
  lower_examples(workspace);
  check_keys(workspace);
  check_idle_tables(workspace);
  Compiled result;
  const bool good = !workspace.report.has_errors();
  if (good) engine::finish_program(*workspace.program);
  if (good && options.lint) lint(workspace);
  result.diagnostics = workspace.report.take(options.max_diagnostics);
  if (!good) return result;
  for (const Unit& unit : workspace.units) {
    auto& sources = workspace.program->sources;
    if (sources.size() <= unit.source) sources.resize(unit.source + 1);
    sources[unit.source] = workspace.report.source(unit.source);
  }
  const DaySpan days = unchanged_days(workspace);
  result.first_day = days.first;
  result.last_day = days.last;
  hash_choices(workspace, hash);
  workspace.program->hash = "sha256:" + hash.finish();
  result.program = std::move(workspace.program);
  return result;
}

}  // namespace meniscus::grammar
