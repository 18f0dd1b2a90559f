// Everything that one compilation works on; the parts of lower/ share it by reference.
#pragma once

#include <map>
#include <memory>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "engine/program/program.hpp"
#include "grammar/check/names.hpp"
#include "grammar/check/report.hpp"
#include "grammar/check/vocabularies.hpp"
#include "grammar/compile.hpp"
#include "grammar/frontend/ast.hpp"
#include "grammar/lower/nodes.hpp"

namespace meniscus::grammar {

/// One rule file, read.
struct Unit {
  SourceId source = 0;
  std::unique_ptr<RuleFile> file;
  bool shipped = false;
};

/// What stands beside an engine::Table (same index) while compiling.
struct TableInfo {
  SourceId source = 0;
  bool broken = false;                   // not read: looking into it stays silent
  std::vector<DimensionSet> dimensions;  // by column
  std::vector<engine::Span> heads;       // place of each column's name
  std::vector<engine::Span> cells;       // place of each cell, as Table::cells
  std::vector<engine::Span> rows;        // place of each row
  std::vector<SourceId> row_sources;     // file of each row: the table's, or an extension's
  const TableDecl* idle = nullptr;       // not in force, and no other version is
  std::set<std::size_t> repeated;        // rows that were reported to repeat another
  SourceId idle_source = 0;              // where that stands
};

/// A local change in force, and its row in program->changes.
struct ActiveChange {
  const LocalChange* ast = nullptr;
  SourceId source = 0;
  std::uint32_t index = 0;
};

/// A rule of the program as it was written.
struct RuleText {
  SourceId source = 0;
  const Rule* ast = nullptr;
};

/// What some expression of the rule files names, whether its rule is in force or not.
struct Uses {
  std::set<std::uint32_t> settings;
  std::set<std::uint32_t> tables;
  std::set<std::pair<std::uint32_t, std::uint32_t>> columns;  // table and column
};

enum class Progress : std::uint8_t { Waiting, Running, Done };

/// A `let` or a `define` on its way to a node.
struct NamedValue {
  const Let* let = nullptr;
  SourceId source = 0;
  NodeId node = kNoNode;  // kNoNode when done: a mistake was reported
  Progress progress = Progress::Waiting;
};

struct Workspace {
  explicit Workspace(const CompileOptions& the_options)
      : options(the_options),
        program(std::make_shared<engine::Program>()),
        names(report),
        nodes(*program) {}

  const CompileOptions& options;
  std::shared_ptr<engine::Program> program;
  Report report;
  Names names;
  Nodes nodes;
  Vocabularies vocabularies;
  std::vector<Unit> units;
  std::vector<TableInfo> tables;                       // beside program->tables
  std::vector<NamedValue> defines;                     // beside the names of kind Define
  std::map<std::string, std::uint32_t> pattern_index;  // beside program->patterns
  std::vector<const Setting*> settings;                // beside program->settings
  std::vector<RuleText> rules;                         // beside program->rules
  Uses uses;
  std::set<std::uint32_t> needed_tables;  // that rules in force look into
  std::set<const void*> clashes;          // declarations whose dates were reported
  std::vector<ActiveChange> changes;
  std::set<const Rule*> aside;  // of names without a version in force, the one that is kept
  std::map<const Rule*, std::uint32_t> trials;  // in force, and the row in program->changes
};

}  // namespace meniscus::grammar
