// Rows of a table that a look-up cannot tell apart.
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

bool same_cell(const Value& a, const Value& b) {
  if (a.state != b.state) return false;
  return !a.known() || (a.number == b.number && a.aux == b.aux && (a.aux != 0 || a.text == b.text));
}

std::string key_text(const Table& table, std::size_t row, const std::set<std::uint32_t>& columns) {
  std::string text;
  for (const std::uint32_t column : columns) {
    const Value& cell = table.cell(row, column);
    text += text.empty() ? "" : ", ";
    text += cell.known() ? std::string(cell.text) : std::string("any");
  }
  return text;
}

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

  static bool equal_in(const Table& table, std::size_t a, std::size_t b,
                       const std::set<std::uint32_t>& columns) {
    for (const std::uint32_t column : columns) {
      if (!same_cell(table.cell(a, column), table.cell(b, column))) return false;
    }
    return true;
  }

  void report(std::uint32_t index, std::size_t first, std::size_t second,
              const std::set<std::uint32_t>& key) {
    if (!reported_.insert({index, second}).second) return;
    const Table& table = w_.program->tables[index];
    const TableInfo& info = w_.tables[index];
    const auto place = [&](std::size_t row) {
      return info.cells[row * table.columns.size() + *key.begin()];
    };
    w_.report.add(info.source, {Code::R0306,
                                place(second),
                                "rows " + std::to_string(table.lines[first]) + " and " +
                                    std::to_string(table.lines[second]) +
                                    " have the same key: " + key_text(table, second, key),
                                {{place(first), "first here"}},
                                "keep one of them, or tell them apart in another column"});
  }

  Workspace& w_;
  std::set<std::tuple<std::uint32_t, NodeId, std::uint32_t>> done_;
  std::set<std::pair<std::uint32_t, std::size_t>> reported_;
};

}  // namespace

void check_keys(Workspace& workspace) { KeyCheck(workspace).run(); }

}  // namespace meniscus::grammar
