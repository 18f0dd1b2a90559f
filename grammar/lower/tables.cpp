// Reading tables.
#include "grammar/lower/tables.hpp"

#include <algorithm>
#include <array>
#include <set>
#include <utility>

#include "engine/quantity/calendar.hpp"
#include "engine/quantity/quantity.hpp"
#include "grammar/lower/changes.hpp"
#include "grammar/lower/csv.hpp"
#include "grammar/lower/table_kind.hpp"
#include "grammar/lower/versions.hpp"

namespace meniscus::grammar {
namespace {

using engine::Column;
using engine::Errc;
using engine::Span;
using engine::Table;
using engine::Value;

/// `path` beside the rule file `source`.
std::string joined(const std::string& source, const std::string& path) {
  const std::size_t slash = source.rfind('/');
  if (slash == std::string::npos || path.starts_with('/')) return path;
  return source.substr(0, slash + 1) + path;
}

std::string plural(std::size_t count, const std::string& what) {
  return std::to_string(count) + " " + what + (count == 1 ? "" : "s");
}

/// Reads one table.
class TableReader {
 public:
  TableReader(Workspace& workspace, Table& table, TableInfo& info, SourceId source)
      : workspace_(workspace), table_(table), info_(info), source_(source) {}

  void read(std::string_view text) {
    const auto records = read_csv(text);
    if (!records) {
      const engine::Error& error = records.error();
      report({Code::R0307,
              {error.offset, error.offset + error.length},
              error.message,
              {},
              "double a quote inside a quoted cell"});
      return;
    }
    if (records->empty()) {
      report({Code::R0302, {}, "the table has no head", {}, "write `name [kind]` for each column"});
      return;
    }
    if (!read_head(records->front())) return;
    info_.broken = false;
    for (std::size_t i = 1; i < records->size(); ++i)
      read_row((*records)[i]);
    check_shape();
  }

 private:
  void report(Mistake mistake) { workspace_.report.add(source_, std::move(mistake)); }

  bool read_head(const CsvRecord& record) {
    bool good = true;
    for (const CsvCell& cell : record.cells)
      good = read_column(cell) && good;
    return good;
  }

  bool read_column(const CsvCell& cell) {
    std::string_view name = cell.text;
    ColumnKind kind;
    const std::size_t open = name.find('[');
    std::string_view unit;
    if (open != std::string_view::npos) {
      if (!name.ends_with(']')) {
        report(
            {Code::R0302, cell.span, "the head " + quoted(cell.text) + " lacks its `]`", {}, ""});
        return false;
      }
      unit = name.substr(open + 1, name.size() - open - 2);
      name = name.substr(0, open);
      while (name.ends_with(' '))
        name.remove_suffix(1);
      const auto known = column_kind(unit);
      if (!known) {
        report({Code::R0302, cell.span, "no column holds " + quoted(unit), {}, kind_help(unit)});
        return false;
      }
      kind = *known;
    }
    return add_column(name, kind, unit, cell.span);
  }

  bool add_column(std::string_view name, const ColumnKind& kind, std::string_view unit, Span span) {
    if (name.empty()) {
      report({Code::R0302, span, "a column has no name", {}, "write `name [kind]`"});
      return false;
    }
    if (table_.column(name)) {
      report(
          {Code::R0302, span, "two columns are named " + quoted(name), {}, "name one otherwise"});
      return false;
    }
    Column column;
    column.name = name;
    column.type = kind.type;
    column.varies = !kind.dimensions.is_single();
    if (!column.varies) column.dimension = kind.dimensions.front();
    table_.columns.push_back(std::move(column));
    info_.dimensions.push_back(kind.dimensions);
    info_.heads.push_back(span);
    kinds_.push_back(kind);
    units_.emplace_back(unit);
    return true;
  }

  void read_row(const CsvRecord& record) {
    const std::size_t columns = table_.columns.size();
    if (record.cells.size() != columns) {
      report({Code::R0303,
              record.span,
              "this row has " + plural(record.cells.size(), "cell") + "; the head names " +
                  plural(columns, "column"),
              {},
              "put a text with commas in quotes"});
      return;
    }
    const auto& text = *workspace_.report.source(source_);
    table_.lines.push_back(text.locate(record.span.begin).line);
    info_.rows.push_back(record.span);
    info_.row_sources.push_back(source_);
    for (std::size_t i = 0; i < columns; ++i) {
      info_.cells.push_back(record.cells[i].span);
      table_.cells.push_back(cell(record.cells[i], i));
    }
  }

  Value cell(const CsvCell& cell, std::size_t column) {
    const std::string_view text = workspace_.program->keep(cell.text);
    auto value = read_cell(kinds_[column], text);
    if (!value) {
      report_cell(cell, column, value.error());
      return Value::missing();
    }
    const bool bare = kinds_[column].factor != 0 && value->known() &&
                      engine::parse_number(text, engine::DecimalMark::Point, true).has_value();
    if (bare) value->text = workspace_.program->keep(cell.text + " " + units_[column]);
    return *value;
  }

  void report_cell(const CsvCell& cell, std::size_t column, const engine::Error& error) {
    const std::uint32_t line = workspace_.report.source(source_)->locate(cell.span.begin).line;
    const bool missing_unit = error.code == Errc::MissingUnit;
    Mistake mistake;
    mistake.code = missing_unit ? Code::R0305 : Code::R0304;
    mistake.span = cell.span;
    mistake.message = "row " + std::to_string(line) + ", column " +
                      quoted(table_.columns[column].name) + ": " + error.message;
    if (missing_unit) mistake.help = unit_help(cell.text, column);
    report(std::move(mistake));
  }

  [[nodiscard]] std::string unit_help(const std::string& text, std::size_t column) const {
    const DimensionSet& dimensions = kinds_[column].dimensions;
    const std::string example = example_of(
        dimensions.contains(engine::dim::kMass) ? engine::dim::kMass : dimensions.front());
    const std::size_t blank = example.find(' ');
    if (blank == std::string::npos) return "write the unit";
    return "write the unit, as in `" + text + example.substr(blank) + "`";
  }

  /// A vocabulary needs its columns.
  void check_shape() {
    if (table_.name != "words") return;
    for (const std::string_view column : {"field", "word"}) {
      if (table_.column(column)) continue;
      report({Code::R0308,
              {},
              "table `words` has no column " + quoted(column),
              {},
              "its head is `field, word, synonyms [text]`"});
    }
  }

  Workspace& workspace_;
  Table& table_;
  TableInfo& info_;
  SourceId source_;
  std::vector<ColumnKind> kinds_;
  std::vector<std::string> units_;
};

/// Declares and reads a table where it is in force, or where no other version is.
void load_table(Workspace& workspace, const Unit& unit, const TableDecl& decl, Standing standing,
                Sha256& hash) {
  const bool in_force = standing == Standing::InForce;
  const bool wanted = in_force || !workspace.names.find(Names::Kind::Table, decl.name.text);
  if (!wanted && standing == Standing::Over) return;
  const auto index = static_cast<std::uint32_t>(workspace.tables.size());
  if (wanted && !workspace.names.declare(Names::Kind::Table, decl.name, unit.source, index)) return;
  Table table;
  TableInfo info;
  info.broken = true;
  table.name = decl.name.text;
  if (!in_force && workspace.clashes.count(&decl) == 0) {
    info.idle = &decl;
    info.idle_source = unit.source;
  }
  if (standing != Standing::Over) {
    read_table(workspace, {unit.source, decl.path, decl.path_span}, table, info, hash);
  }
  if (!wanted) return;
  workspace.program->tables.push_back(std::move(table));
  workspace.tables.push_back(std::move(info));
}

/// Columns whose words belong to a vocabulary, by the column's name.
constexpr std::array<std::pair<std::string_view, std::string_view>, 7> kWordColumns = {{
    {"site", "sites"},
    {"parent", "sites"},
    {"region", "sites"},
    {"route", "routes"},
    {"vehicle", "vehicles"},
    {"code", "substances"},
    {"allergy", "allergens"},
}};

/// The vocabulary of a column of words; null when it has none.
const engine::Vocabulary* vocabulary_of(const Workspace& workspace, std::string_view column) {
  for (const auto& [name, vocabulary] : kWordColumns) {
    if (name == column) return workspace.vocabularies.of_table(vocabulary);
  }
  return nullptr;
}

void use_canonical_word(Workspace& workspace, const engine::Vocabulary& vocabulary, Value& cell) {
  if (!cell.known()) return;
  const auto* entry = vocabulary.find(cell.text);
  if (entry == nullptr || entry->word == cell.aux) return;
  cell = Value::word(entry->word, workspace.program->keep(entry->name));
}

void use_canonical_words(Workspace& workspace, Table& table) {
  for (std::size_t column = 0; column < table.columns.size(); ++column) {
    if (table.columns[column].type != engine::Type::Word) continue;
    const auto* vocabulary = vocabulary_of(workspace, table.columns[column].name);
    if (vocabulary == nullptr) continue;
    for (std::size_t row = 0; row < table.rows(); ++row)
      use_canonical_word(workspace, *vocabulary, table.cells[row * table.columns.size() + column]);
  }
}

}  // namespace

void read_table(Workspace& workspace, const TablePlace& place, Table& table, TableInfo& info,
                Sha256& hash) {
  if (place.span.empty()) return;  // no path was read, which was reported
  table.file = joined(workspace.report.source(place.source)->name(), place.path);
  auto text = workspace.options.read_file
                  ? workspace.options.read_file(table.file)
                  : engine::Result<std::string>(engine::Error{Errc::Usage, "no tables here", 0, 0});
  if (!text) {
    const std::string& why = text.error().message;
    const bool is_whole = why.starts_with("cannot read ");  // it names the file
    workspace.report.add(place.source,
                         {Code::R0301,
                          place.span,
                          is_whole ? why : "cannot read " + quoted(table.file) + ": " + why,
                          {},
                          "the path starts at the rule file's folder"});
    return;
  }
  if (text->size() > workspace.options.max_bytes) {
    workspace.report.add(place.source, {Code::R0301,
                                        place.span,
                                        quoted(table.file) + " is larger than " +
                                            std::to_string(workspace.options.max_bytes) + " bytes",
                                        {},
                                        ""});
    return;
  }
  hash.update(table.file);
  hash.update(std::string_view("\0", 1));
  hash.update(*text);
  hash.update(std::string_view("\0", 1));
  auto source = std::make_shared<const engine::SourceText>(table.file, *std::move(text));
  info.source = workspace.report.add_source(source);
  TableReader(workspace, table, info, info.source).read(source->text());
}

void load_tables(Workspace& workspace, Sha256& hash) {
  for (const Standing wanted : {Standing::InForce, Standing::Later, Standing::Over}) {
    for (const Unit& unit : workspace.units) {
      for (const TableDecl& decl : unit.file->tables) {
        if (standing(workspace, decl) == wanted) load_table(workspace, unit, decl, wanted, hash);
      }
    }
  }
  extend_tables(workspace, hash);
  workspace.vocabularies.build(*workspace.program);
  for (Table& table : workspace.program->tables)
    use_canonical_words(workspace, table);
}

void check_idle_tables(Workspace& workspace) {
  for (const std::uint32_t table : workspace.needed_tables) {
    const TableInfo& info = workspace.tables[table];
    if (info.idle == nullptr) continue;
    workspace.report.add(
        info.idle_source,
        {Code::R0504,
         info.idle->name.span,
         "rules look into table " + quoted(info.idle->name.text) + ", which has no version on " +
             engine::format_day(workspace.options.rules_day),
         {},
         "add a version for that day, or give the rules the same dates"});
  }
}

}  // namespace meniscus::grammar
