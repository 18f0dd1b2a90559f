// `extend table`: rows of a site's own, after those of the table.
#include <optional>
#include <unordered_map>
#include <utility>

#include "grammar/lower/changes.hpp"
#include "grammar/lower/tables.hpp"

namespace meniscus::grammar {
namespace {

using engine::Column;
using engine::Table;
using engine::Value;

class Extension {
 public:
  Extension(Workspace& workspace, const ActiveChange& change, std::uint32_t index, Sha256& hash)
      : w_(workspace),
        change_(change),
        index_(index),
        table_(workspace.program->tables[index]),
        info_(workspace.tables[index]) {
    added_.name = table_.name;
    added_info_.broken = true;
    const LocalChange& ast = *change.ast;
    read_table(w_, {change.source, ast.path, ast.path_span}, added_, added_info_, hash);
  }

  void run() {
    if (added_info_.broken || info_.broken || !match_heads()) return;
    std::string& what = w_.program->changes[change_.index].what;
    what += " (" + std::to_string(added_.rows()) + (added_.rows() == 1 ? " row)" : " rows)");
    if (added_.rows() == 0) {
      w_.report.add(change_.source, {Code::R0515,
                                     change_.ast->path_span,
                                     quoted(added_.file) + " has no rows",
                                     {},
                                     "add rows to it, or remove this change"});
    }
    const std::size_t before = table_.rows();
    for (std::size_t row = 0; row < added_.rows(); ++row)
      append(row);
    check_first_column(before);
  }

 private:
  static bool same_kind(const Column& a, const Column& b) {
    return a.type == b.type && a.varies == b.varies && a.dimension == b.dimension;
  }

  /// Every column of the table once, in any order, with its kind.
  bool match_heads() {
    bool good = true;
    for (std::size_t c = 0; c < added_.columns.size(); ++c) {
      const Column& column = added_.columns[c];
      const auto known = table_.column(column.name);
      if (known && same_kind(column, table_.columns[*known])) continue;
      good = false;
      Nearest nearest(column.name);
      for (const Column& each : table_.columns)
        nearest.offer(each.name);
      w_.report.add(
          added_info_.source,
          {Code::R0517,
           head_span(),
           known ? "column " + quoted(column.name) + " is of another kind in table " +
                       quoted(table_.name)
                 : "table " + quoted(table_.name) + " has no column " + quoted(column.name),
           {},
           known ? "copy the head of " + quoted(table_.file) : nearest.help()});
    }
    for (const Column& column : table_.columns) {
      const auto from = added_.column(column.name);
      from_.push_back(from.value_or(0));
      if (from) continue;
      good = false;
      w_.report.add(added_info_.source, {Code::R0517,
                                         head_span(),
                                         "column " + quoted(column.name) + " is missing",
                                         {},
                                         "copy the head of " + quoted(table_.file)});
    }
    return good;
  }

  [[nodiscard]] engine::Span head_span() const {
    const std::string_view text = w_.report.source(added_info_.source)->text();
    const std::size_t end = text.find_first_of("\r\n");
    return {0, static_cast<std::uint32_t>(end == std::string_view::npos ? text.size() : end)};
  }

  void append(std::size_t row) {
    for (std::size_t c = 0; c < table_.columns.size(); ++c) {
      table_.cells.push_back(added_.cell(row, from_[c]));
      info_.cells.push_back(added_info_.cells[row * added_.columns.size() + from_[c]]);
    }
    table_.lines.push_back(added_.lines[row]);
    info_.rows.push_back(added_info_.rows[row]);
    info_.row_sources.push_back(added_info_.source);
  }

  /// A first column that tells all rows of a table apart is its key.
  void check_first_column(std::size_t before) {
    std::unordered_multimap<std::uint64_t, std::size_t> rows;
    const auto same_row = [&](std::size_t row) -> std::optional<std::size_t> {
      const auto [begin, end] = rows.equal_range(table_.cell(row, 0).aux);
      for (auto at = begin; at != end; ++at) {
        if (same_cell(table_.cell(row, 0), table_.cell(at->second, 0))) return at->second;
      }
      return std::nullopt;
    };
    for (std::size_t row = 0; row < table_.rows(); ++row) {
      if (const auto same = same_row(row)) {
        if (row < before) return;
        report_equal_rows(w_, index_, {*same, row}, {0});
      }
      rows.emplace(table_.cell(row, 0).aux, row);
    }
  }

  Workspace& w_;
  const ActiveChange& change_;
  std::uint32_t index_;
  Table& table_;
  TableInfo& info_;
  Table added_;
  TableInfo added_info_;
  std::vector<std::size_t> from_;  // by column of the table, the extension's
};

}  // namespace

void extend_tables(Workspace& workspace, Sha256& hash) {
  for (const ActiveChange& change : workspace.changes) {
    if (change.ast->kind != ChangeKind::Extend) continue;
    const auto declared = target_of(workspace, change);
    if (declared) Extension(workspace, change, declared->index, hash).run();
  }
}

}  // namespace meniscus::grammar
