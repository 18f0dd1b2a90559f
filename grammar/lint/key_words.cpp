// Keys of a table that no order can have: a word that the field they are compared with never holds.
#include <set>
#include <tuple>

#include "grammar/check/suggest.hpp"
#include "grammar/lint/checks.hpp"

namespace meniscus::grammar {
namespace {

using engine::LookUp;
using engine::Node;
using engine::Table;
using engine::Value;
using engine::Vocabulary;

class KeyWordChecks {
 public:
  explicit KeyWordChecks(Workspace& workspace) : w_(workspace), program_(*workspace.program) {}

  void run() {
    for (const Node& node : program_.nodes) {
      const bool looks =
          node.op == Op::LookUp || node.op == Op::LookUpEvery || node.op == Op::AnyRow;
      if (looks) conjunct(program_.lookups[node.a], program_.lookups[node.a].where);
    }
  }

 private:
  /// Finds `row.COLUMN is FIELD` and `SITE is in row.COLUMN` among what a row must fulfil.
  void conjunct(const LookUp& lookup, NodeId id) {
    const Node& node = program_.nodes[id];
    if (node.op == Op::And) {
      conjunct(lookup, node.x);
      conjunct(lookup, node.y);
    }
    if (node.op != Op::Equal && node.op != Op::SiteIn) return;
    const Node& x = program_.nodes[node.x];
    const Node& y = program_.nodes[node.y];
    if (x.op == Op::RowCell) check(lookup.table, x.a, y);
    if (y.op == Op::RowCell) check(lookup.table, y.a, x);
  }

  void check(std::uint32_t index, std::uint32_t column, const Node& asked) {
    const bool field = asked.op == Op::Field || asked.op == Op::RecordField;
    if (!field || asked.type != Type::Word) return;
    const Vocabulary& known = program_.vocabularies[asked.a];
    if (known.empty()) return;
    const Table& table = program_.tables[index];
    for (std::size_t row = 0; row < table.rows(); ++row) {
      const Value& cell = table.cell(row, column);
      if (!cell.known() || knows(known, cell)) continue;
      if (!said_.emplace(index, column, row).second) continue;
      report(index, column, row, asked.a);
    }
  }

  static bool knows(const Vocabulary& known, const Value& cell) {
    const Vocabulary::Entry* entry = known.find(cell.text);
    return entry != nullptr && entry->word == cell.aux;
  }

  void report(std::uint32_t index, std::uint32_t column, std::size_t row, std::uint32_t field) {
    const Table& table = program_.tables[index];
    const TableInfo& info = w_.tables[index];
    const std::string_view word = table.cell(row, column).text;
    Nearest nearest(word);
    for (const auto& [spelling, entry] : program_.vocabularies[field].entries())
      nearest.offer(entry.name);
    const engine::FieldInfo& about = engine::info(static_cast<engine::FieldId>(field));
    w_.report.add(info.row_sources[row],
                  {Code::R0616,
                   info.cells[row * table.columns.size() + column],
                   "no order is ever found in this row: " + quoted(about.name) + " knows no word " +
                       quoted(word),
                   {},
                   nearest.help("add the word to the table " + quoted(about.vocabulary) +
                                ", or take the row away")});
  }

  Workspace& w_;
  const engine::Program& program_;
  std::set<std::tuple<std::uint32_t, std::uint32_t, std::size_t>> said_;
};

}  // namespace

void check_key_words(Workspace& workspace) { KeyWordChecks(workspace).run(); }

}  // namespace meniscus::grammar
