// Tables of a rule set: CSV files into engine::Table, with every wrong cell reported in its place.
#pragma once

#include <cstdint>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "grammar/lower/sha256.hpp"
#include "grammar/lower/workspace.hpp"

namespace meniscus::grammar {

/// Declares and reads all tables of all files, builds the vocabularies, and replaces synonyms in
/// columns of words by the word they stand for.  The tables' names and texts go into `hash`.
void load_tables(Workspace& workspace, Sha256& hash);

/// Where a table's file is named.
struct TablePlace {
  SourceId source = 0;
  const std::string& path;
  engine::Span span;
};
/// Reads the file beside the rule file into `table` and `info`; its name and text go into `hash`.
/// `info.broken` stays as it is where the file or its head cannot be read, which is reported.
void read_table(Workspace& workspace, const TablePlace& place, engine::Table& table,
                TableInfo& info, Sha256& hash);

/// Reports tables that rules in force look into although no version of them is in force.
void check_idle_tables(Workspace& workspace);

/// Rows of one table that no look-up can tell apart: reported once for each table and row.
/// Call when all look-ups are known.
void check_keys(Workspace& workspace);

/// Reports two rows of table `index` whose cells in the columns `key` are equal.
void report_equal_rows(Workspace& workspace, std::uint32_t index,
                       std::pair<std::size_t, std::size_t> rows,
                       const std::set<std::uint32_t>& key);
/// Whether two cells say the same.
bool same_cell(const engine::Value& a, const engine::Value& b);
/// Whether two rows say the same in all of `columns`.
bool equal_in(const engine::Table& table, std::size_t a, std::size_t b,
              const std::set<std::uint32_t>& columns);

}  // namespace meniscus::grammar
