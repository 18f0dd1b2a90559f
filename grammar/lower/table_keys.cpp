// Rows of a table that a look-up cannot tell apart.
#include <algorithm>
#include <optional>
#include <set>
#include <tuple>
#include <unordered_map>
#include <utility>

#include "grammar/lower/node_walk.hpp"
#include "grammar/lower/tables.hpp"

namespace meniscus::grammar {
namespace {

using engine::LookUp;
using engine::Node;
using engine::Table;
using engine::Value;

std::string key_text(const Table& table, std::size_t row, const std::set<std::uint32_t>& columns) {
  std::string text;
  for (const std::uint32_t column : columns) {
    const Value& cell = table.cell(row, column);
    text += text.empty() ? "" : ", ";
    text += cell.known() ? std::string(cell.text) : std::string("any");
  }
  return text;
}

}  // namespace

bool same_cell(const Value& a, const Value& b) {
  if (a.state != b.state) return false;
  return !a.known() || (a.number == b.number && a.aux == b.aux && (a.aux != 0 || a.text == b.text));
}

bool equal_in(const Table& table, std::size_t a, std::size_t b,
              const std::set<std::uint32_t>& columns) {
  return std::all_of(columns.begin(), columns.end(), [&](std::uint32_t column) {
    return same_cell(table.cell(a, column), table.cell(b, column));
  });
}

void report_equal_rows(Workspace& workspace, std::uint32_t index,
                       std::pair<std::size_t, std::size_t> rows,
                       const std::set<std::uint32_t>& key) {
  const auto [first, second] = rows;
  const Table& table = workspace.program->tables[index];
  TableInfo& info = workspace.tables[index];
  if (!info.repeated.insert(second).second) return;
  const auto place = [&](std::size_t row) {
    return info.cells[row * table.columns.size() + *key.begin()];
  };
  const bool one_file = info.row_sources[first] == info.row_sources[second];
  const std::string lines = std::to_string(table.lines[first]);
  const std::string other = std::to_string(table.lines[second]);
  Mistake mistake{Code::R0306, place(second), "", {}, ""};
  if (one_file) {
    mistake.message = "rows " + lines + " and " + other + " have the same key: ";
    mistake.labels.push_back({place(first), "first here"});
    mistake.help = "keep one of them, or tell them apart in another column";
  } else {
    mistake.message = "row " + other + " has the same key as row " + lines + " of " +
                      quoted(workspace.report.source(info.row_sources[first])->name()) + ": ";
    mistake.help = "an extension adds rows and replaces none; leave it out";
  }
  mistake.message += key_text(table, second, key);
  workspace.report.add(info.row_sources[second], std::move(mistake));
}

namespace {

class KeyCheck {
 public:
  explicit KeyCheck(Workspace& workspace) : w_(workspace) {}

  void run() {
    for (std::size_t table = 0; table < w_.tables.size(); ++table)
      check_whole_rows(table);
    for (const Node& node : w_.program->nodes) {
      if (node.op == Op::LookUp) check(w_.program->lookups[node.a]);
    }
  }

 private:
  /// The columns that a condition reads: rows equal in them all match together.
  std::set<std::uint32_t> columns_of(NodeId where) {
    std::set<std::uint32_t> columns;
    NodeWalk walk(*w_.program);
    walk.from(where, [&](NodeId, const Node& node) {
      if (node.op == Op::RowCell) columns.insert(node.a);
    });
    return columns;
  }

  void check(const LookUp& lookup) {
    if (w_.tables[lookup.table].broken) return;
    if (!done_.insert({lookup.table, lookup.where, lookup.column}).second) return;
    std::set<std::uint32_t> key = columns_of(lookup.where);
    if (key.empty()) return;
    find_equal_rows(lookup.table, key, lookup.column);
  }

  void check_whole_rows(std::size_t table) {
    std::set<std::uint32_t> all;
    for (std::uint32_t c = 0; c < w_.program->tables[table].columns.size(); ++c)
      all.insert(c);
    if (!w_.tables[table].broken && !all.empty()) {
      find_equal_rows(static_cast<std::uint32_t>(table), all, std::nullopt);
    }
  }

  /// Rows with an equal key; with `result`, only those that answer differently.
  void find_equal_rows(std::uint32_t index, const std::set<std::uint32_t>& key,
                       std::optional<std::uint32_t> result) {
    const Table& table = w_.program->tables[index];
    std::unordered_multimap<std::uint64_t, std::size_t> by_first;
    for (std::size_t row = 0; row < table.rows(); ++row) {
      const Value& first = table.cell(row, *key.begin());
      const auto [begin, end] = by_first.equal_range(first.aux);
      for (auto at = begin; at != end; ++at) {
        const bool differ =
            !result || !same_cell(table.cell(row, *result), table.cell(at->second, *result));
        if (!differ || !equal_in(table, row, at->second, key)) continue;
        report(index, at->second, row, key);
        break;
      }
      by_first.emplace(first.aux, row);
    }
  }

  void report(std::uint32_t index, std::size_t first, std::size_t second,
              const std::set<std::uint32_t>& key) {
    report_equal_rows(w_, index, {first, second}, key);
  }

  Workspace& w_;
  std::set<std::tuple<std::uint32_t, NodeId, std::uint32_t>> done_;
};

}  // namespace

void check_keys(Workspace& workspace) { KeyCheck(workspace).run(); }

}  // namespace meniscus::grammar
