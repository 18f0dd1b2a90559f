// Vocabularies from the tables `words`, `sites`, `routes` ...
#include "grammar/check/vocabularies.hpp"

#include "engine/base/ascii.hpp"

namespace meniscus::grammar {
namespace {

using engine::ascii::trimmed;

using engine::FieldId;
using engine::FieldInfo;
using engine::Table;
using engine::Vocabulary;

void add_row(Vocabulary& vocabulary, const Table& table, std::size_t row, std::size_t word,
             std::optional<std::size_t> synonyms) {
  const engine::Value& cell = table.cell(row, word);
  if (!cell.known()) return;
  vocabulary.add(cell.text, cell.text);
  if (!synonyms) return;
  std::string_view rest = table.cell(row, *synonyms).text;
  while (!rest.empty()) {
    const std::size_t end = std::min(rest.find(';'), rest.size());
    const std::string_view spelling = trimmed(rest.substr(0, end));
    rest.remove_prefix(std::min(end + 1, rest.size()));
    if (!spelling.empty()) vocabulary.add(spelling, cell.text);
  }
}

}  // namespace

void Vocabularies::build(const engine::Program& program) {
  for (const FieldInfo& field : engine::fields()) {
    if (field.vocabulary.empty()) continue;
    const Table* table = program.table(field.vocabulary);
    if (table == nullptr || table->columns.empty()) continue;
    const bool shared = field.vocabulary == "words";
    const auto owner = table->column("field");
    const auto word = shared ? table->column("word") : std::optional<std::size_t>(0);
    if (!word || (shared && !owner)) continue;
    for (std::size_t row = 0; row < table->rows(); ++row) {
      if (shared && table->cell(row, *owner).text != field.name) continue;
      add_row(fields_[index(field.id)], *table, row, *word, table->column("synonyms"));
    }
  }
}

const Vocabulary* Vocabularies::of(FieldId field) const {
  const Vocabulary& vocabulary = fields_[index(field)];
  return vocabulary.empty() ? nullptr : &vocabulary;
}

const Vocabulary* Vocabularies::of_table(std::string_view table) const {
  for (const FieldInfo& field : engine::fields()) {
    if (field.vocabulary == table && table != "words") return of(field.id);
  }
  return nullptr;
}

}  // namespace meniscus::grammar
