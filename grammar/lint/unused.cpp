// Settings, tables and columns that no rule reads.
#include <algorithm>
#include <array>
#include <string_view>

#include "grammar/lint/checks.hpp"

namespace meniscus::grammar {
namespace {

using engine::Column;
using engine::Table;

/// What the engine itself reads: eval/engine_value.cpp, program/finish.cpp, order/derive_text.cpp,
/// slips/listed.cpp.
constexpr std::string_view kSettingOfTheEngine = "hand-force";
struct Read {
  std::string_view table, column;
};
constexpr std::array kColumnsOfTheEngine = {
    Read{"needles", "gauge"},     Read{"needles", "wall"},        Read{"needles", "bore"},
    Read{"syringes", "capacity"}, Read{"syringes", "scale"},      Read{"syringes", "graduation"},
    Read{"syringes", "barrel"},   Read{"syringes", "dead-space"}, Read{"vehicles", "viscosity"},
    Read{"products", "code"},     Read{"products", "strength"},   Read{"products", "vehicle"},
    Read{"routes", "injection"},  Read{"sites", "parent"},        Read{"sites", "region"},
    Read{"substances", "moiety"}, Read{"words", "field"},         Read{"words", "word"},
};

bool is_vocabulary(std::string_view table) {
  return std::any_of(engine::fields().begin(), engine::fields().end(),
                     [&](const engine::FieldInfo& field) { return field.vocabulary == table; });
}

bool engine_reads(std::string_view table) {
  return is_vocabulary(table) || std::any_of(kColumnsOfTheEngine.begin(), kColumnsOfTheEngine.end(),
                                             [&](const Read& read) { return read.table == table; });
}

bool engine_reads(const Table& table, std::size_t column) {
  if (column == 0 && is_vocabulary(table.name)) return true;
  return std::any_of(kColumnsOfTheEngine.begin(), kColumnsOfTheEngine.end(), [&](const Read& read) {
    return read.table == table.name && read.column == table.columns[column].name;
  });
}

/// Texts, and columns named so, are for people: where a figure comes from, what it is about.
bool is_note(const Column& column) {
  return column.type == Type::Text || column.name.starts_with("x-");
}

void check_settings(Workspace& w) {
  for (std::uint32_t i = 0; i < w.program->settings.size(); ++i) {
    const std::string& name = w.program->settings[i].name;
    if (w.uses.settings.count(i) > 0 || name == kSettingOfTheEngine) continue;
    const auto declared = w.names.find(Names::Kind::Setting, name);
    if (!declared) continue;
    w.report.add(declared->source, {Code::R0613,
                                    declared->span,
                                    "nothing reads the setting " + quoted(name),
                                    {},
                                    "compare a field with it, or take it away"});
  }
}

void check_columns(Workspace& w, std::uint32_t index, bool looked_up) {
  const Table& table = w.program->tables[index];
  for (std::uint32_t column = 0; column < table.columns.size(); ++column) {
    if (w.uses.columns.count({index, column}) > 0 || is_note(table.columns[column])) continue;
    if (engine_reads(table, column) || (!looked_up && !engine_reads(table.name))) continue;
    w.report.add(w.tables[index].source,
                 {Code::R0615,
                  w.tables[index].heads[column],
                  "nothing reads the column " + quoted(table.columns[column].name) +
                      " of the table " + quoted(table.name),
                  {},
                  "look it up, take it away, or make it a note: `" + table.columns[column].name +
                      " [text]`"});
  }
}

}  // namespace

void check_unused(Workspace& workspace) {
  check_settings(workspace);
  for (std::uint32_t i = 0; i < workspace.program->tables.size(); ++i) {
    const TableInfo& info = workspace.tables[i];
    if (info.broken || info.idle != nullptr) continue;
    const std::string& name = workspace.program->tables[i].name;
    const bool looked_up = workspace.uses.tables.count(i) > 0;
    check_columns(workspace, i, looked_up);
    const auto declared = workspace.names.find(Names::Kind::Table, name);
    if (looked_up || engine_reads(name) || !declared) continue;
    workspace.report.add(declared->source, {Code::R0614,
                                            declared->span,
                                            "nothing looks into the table " + quoted(name),
                                            {},
                                            "look something up in it, or take it away"});
  }
}

}  // namespace meniscus::grammar
