// Bands of a table (`18 years to any`) that overlap or leave a gap, among rows with the same key.
#include <algorithm>
#include <set>
#include <tuple>
#include <vector>

#include "engine/quantity/quantity.hpp"
#include "grammar/lint/checks.hpp"
#include "grammar/lower/node_walk.hpp"
#include "grammar/lower/tables.hpp"

namespace meniscus::grammar {
namespace {

using engine::LookUp;
using engine::Node;
using engine::Table;
using engine::Value;

class BandChecks {
 public:
  explicit BandChecks(Workspace& workspace) : w_(workspace) {}

  void run() {
    for (const Node& node : w_.program->nodes) {
      if (node.op == Op::LookUp) check(w_.program->lookups[node.a]);
    }
  }

 private:
  void check(const LookUp& lookup) {
    std::set<std::uint32_t> key;
    std::set<std::uint32_t> bands;
    NodeWalk walk(*w_.program);
    walk.from(lookup.where, [&](NodeId, const Node& node) {
      if (node.op != Op::RowCell) return;
      const bool band = node.type == Type::Band;
      (band ? bands : key).insert(node.a);
    });
    for (const std::uint32_t band : bands) {
      std::set<std::uint32_t> others = key;
      others.insert(bands.begin(), bands.end());
      others.erase(band);
      check_band(lookup, band, others);
    }
  }

  void check_band(const LookUp& lookup, std::uint32_t band, const std::set<std::uint32_t>& key) {
    const Table& table = w_.program->tables[lookup.table];
    std::vector<bool> done(table.rows(), false);
    for (std::size_t row = 0; row < table.rows(); ++row) {
      if (done[row]) continue;
      std::vector<std::size_t> rows;
      for (std::size_t other = row; other < table.rows(); ++other) {
        if (!equal_in(table, row, other, key)) continue;
        done[other] = true;
        if (table.cell(other, band).known()) rows.push_back(other);
      }
      std::sort(rows.begin(), rows.end(), [&](std::size_t a, std::size_t b) {
        return table.cell(a, band).number < table.cell(b, band).number;
      });
      for (std::size_t i = 1; i < rows.size(); ++i)
        compare(lookup, band, rows[i - 1], rows[i]);
    }
  }

  void compare(const LookUp& lookup, std::uint32_t band, std::size_t first, std::size_t second) {
    const Table& table = w_.program->tables[lookup.table];
    const Value& a = table.cell(first, band);
    const Value& b = table.cell(second, band);
    const int order = engine::compare(engine::band_end(a), b.number);
    if (order == 0) return;
    // Rows that answer alike may overlap: the answer is known all the same.
    const bool alike =
        same_cell(table.cell(first, lookup.column), table.cell(second, lookup.column));
    if (order > 0 && alike) return;
    if (order < 0 && is_meant(a, b)) return;
    if (!said_.emplace(lookup.table, band, second).second) return;
    report(order > 0, lookup.table, band, first, second);
  }

  /// A gap as wide as one of the bands beside it: single values stand apart from one another.
  static bool is_meant(const Value& a, const Value& b) {
    const double gap = b.number - engine::band_end(a);
    const double least = std::min(engine::band_end(a) - a.number, engine::band_end(b) - b.number);
    return engine::compare(gap, least) >= 0;
  }

  void report(bool overlap, std::uint32_t index, std::uint32_t band, std::size_t first,
              std::size_t second) {
    const Table& table = w_.program->tables[index];
    const TableInfo& info = w_.tables[index];
    const auto place = [&](std::size_t row) {
      return info.cells[row * table.columns.size() + band];
    };
    const auto row = [&](std::size_t row) {
      return "row " + std::to_string(table.lines[row]) + " (" +
             std::string(table.cell(row, band).text) + ")";
    };
    Mistake mistake;
    mistake.code = overlap ? Code::R0611 : Code::R0612;
    mistake.span = place(second);
    mistake.message = overlap ? row(second) + " overlaps with " + row(first)
                              : "between " + row(first) + " and " + row(second) + " there is a gap";
    if (info.row_sources[first] == info.row_sources[second]) {
      mistake.labels.push_back({place(first), overlap ? "overlaps" : "the one before"});
    }
    mistake.help = "a band ends before its second figure: let the next one begin with it";
    w_.report.add(info.row_sources[second], std::move(mistake));
  }

  Workspace& w_;
  std::set<std::tuple<std::uint32_t, std::uint32_t, std::size_t>> said_;
};

}  // namespace

void check_bands(Workspace& workspace) { BandChecks(workspace).run(); }

}  // namespace meniscus::grammar
