// The stages of a compilation, in order: read, declare, load tables, lower, finish.
#include "grammar/compile.hpp"

#include <utility>

#include "grammar/frontend/parse.hpp"
#include "grammar/lower/rules.hpp"
#include "grammar/lower/sha256.hpp"
#include "grammar/lower/tables.hpp"

namespace meniscus::grammar {
namespace {

void read_units(Workspace& workspace, const std::vector<RuleSource>& sources, Sha256& hash) {
  ParseLimits limits;
  limits.max_bytes = workspace.options.max_bytes;
  limits.max_depth = workspace.options.max_depth;
  limits.max_diagnostics = workspace.options.max_diagnostics;
  for (const RuleSource& each : sources) {
    auto text = std::make_shared<const engine::SourceText>(each.name, each.text);
    const SourceId source = workspace.report.add_source(text);
    Parsed parsed = parse(std::move(text), limits);
    for (engine::Diagnostic& diagnostic : parsed.diagnostics) {
      workspace.report.adopt(source, std::move(diagnostic));
    }
    workspace.units.push_back({source, std::move(parsed.file)});
    for (const std::string* part : {&each.name, &each.text}) {
      hash.update(*part);
      hash.update(std::string_view("\0", 1));
    }
  }
}

}  // namespace

Compiled compile(const std::vector<RuleSource>& sources, const CompileOptions& options) {
  Workspace workspace(options);
  Sha256 hash;
  read_units(workspace, sources, hash);
  load_tables(workspace, hash);
  lower_settings(workspace);
  lower_defines(workspace);
  lower_rules(workspace);
  lower_examples(workspace);
  check_keys(workspace);
  Compiled result;
  const bool good = !workspace.report.has_errors();
  result.diagnostics = workspace.report.take(options.max_diagnostics);
  if (!good) return result;
  for (const Unit& unit : workspace.units) {
    auto& sources = workspace.program->sources;
    if (sources.size() <= unit.source) sources.resize(unit.source + 1);
    sources[unit.source] = workspace.report.source(unit.source);
  }
  workspace.program->hash = "sha256:" + hash.finish();
  engine::finish_program(*workspace.program);
  result.program = std::move(workspace.program);
  return result;
}

}  // namespace meniscus::grammar
