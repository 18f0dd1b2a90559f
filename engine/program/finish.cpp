// Indexes, vocabularies and derived flags of a program: what can be worked out once.
#include <algorithm>
#include <cstddef>

#include "engine/eval/text_search.hpp"
#include "engine/program/program.hpp"

namespace meniscus::engine {
namespace {

/// Calls `each` for every part of a `;`-separated text, trimmed, empty parts left out.
template <class F>
void for_each_part(std::string_view text, F&& each) {
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(';'), text.size());
    std::string_view part = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    while (!part.empty() && part.front() == ' ')
      part.remove_prefix(1);
    while (!part.empty() && part.back() == ' ')
      part.remove_suffix(1);
    if (!part.empty()) each(part);
  }
}

void add_row_words(Vocabulary& vocabulary, const Table& table, std::size_t row, std::size_t word,
                   std::optional<std::size_t> synonyms) {
  const Value& cell = table.cell(row, word);
  if (!cell.known()) return;
  vocabulary.add(cell.text, cell.text);
  if (!synonyms) return;
  for_each_part(table.cell(row, *synonyms).text,
                [&](std::string_view part) { vocabulary.add(part, cell.text); });
}

/// `words`: one row a word, the first column names the field that it belongs to.
void add_words_table(Program& program, const Table& table) {
  const auto field_column = table.column("field");
  const auto word_column = table.column("word");
  if (!field_column || !word_column) return;
  const auto synonyms = table.column("synonyms");
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const auto field = field_named(table.cell(row, *field_column).text);
    if (!field) continue;
    add_row_words(program.vocabularies[index(*field)], table, row, *word_column, synonyms);
  }
}

void build_vocabularies(Program& program) {
  if (const Table* words = program.table("words")) add_words_table(program, *words);
  for (const FieldInfo& field : fields()) {
    if (field.vocabulary.empty() || field.vocabulary == "words") continue;
    const Table* table = program.table(field.vocabulary);
    if (table == nullptr || table->columns.empty()) continue;
    const auto synonyms = table->column("synonyms");
    for (std::size_t row = 0; row < table->rows(); ++row) {
      add_row_words(program.vocabularies[index(field.id)], *table, row, 0, synonyms);
    }
  }
}

/// `sites`: parent makes the tree; region (or the nearest sided ancestor, or the site itself) is
/// what `region of` gives.
void build_sites(Program& program) {
  const Table* sites = program.table("sites");
  if (sites == nullptr) return;
  const auto parent = sites->column("parent");
  const auto region = sites->column("region");
  for (std::size_t row = 0; row < sites->rows(); ++row) {
    const Value& site = sites->cell(row, 0);
    if (parent && sites->cell(row, *parent).known()) {
      program.site_parent[site.aux] = sites->cell(row, *parent).aux;
    }
    const Value& own =
        region && sites->cell(row, *region).known() ? sites->cell(row, *region) : site;
    program.site_region[site.aux] = {own.aux, std::string(own.text)};
  }
}

/// `routes`: column `injection` says which routes are none of ours.
void build_routes(Program& program) {
  program.other_routes.clear();
  const Table* routes = program.table("routes");
  if (routes == nullptr) return;
  const auto injection = routes->column("injection");
  if (!injection) return;
  for (std::size_t row = 0; row < routes->rows(); ++row) {
    const Value& cell = routes->cell(row, *injection);
    if (cell.known() && cell.number == 0) program.other_routes.push_back(routes->cell(row, 0).aux);
  }
  std::sort(program.other_routes.begin(), program.other_routes.end());
}

void build_row_indexes(Program& program) {
  program.row_index.assign(program.lookups.size(), {});
  program.any_rows.assign(program.lookups.size(), {});
  for (std::size_t i = 0; i < program.lookups.size(); ++i) {
    const LookUp& lookup = program.lookups[i];
    if (!lookup.key) continue;
    const Table& table = program.tables[lookup.table];
    for (std::uint32_t row = 0; row < table.rows(); ++row) {
      const Value& cell = table.cell(row, *lookup.key);
      if (cell.known()) {
        program.row_index[i].emplace(cell.aux, row);
      } else if (cell.state == State::Any) {
        program.any_rows[i].push_back(row);
      }
    }
  }
}

/// `A contains row.C or B contains row.C ...`: the texts A, B and the column, or nothing.
bool collect_texts(const Program& program, NodeId id, LookUp& lookup) {
  const Node& node = program.nodes[id];
  if (node.op == Op::Or) {
    return collect_texts(program, node.x, lookup) && collect_texts(program, node.y, lookup);
  }
  if (node.op != Op::Contains || program.nodes[node.y].op != Op::RowCell) return false;
  const Op text = program.nodes[node.x].op;
  if (text != Op::Field && text != Op::Written) return false;
  const std::uint32_t column = program.nodes[node.y].a;
  if (lookup.text_column && *lookup.text_column != column) return false;
  lookup.text_column = column;
  lookup.texts.push_back(node.x);
  return true;
}

void find_text_conjunct(const Program& program, NodeId id, LookUp& lookup) {
  if (lookup.text_column) return;
  const Node& node = program.nodes[id];
  if (node.op == Op::And) {
    find_text_conjunct(program, node.x, lookup);
    return find_text_conjunct(program, node.y, lookup);
  }
  LookUp found;
  if (!collect_texts(program, id, found)) return;
  lookup.text_column = found.text_column;
  lookup.texts = std::move(found.texts);
}

void build_word_bits(Program& program) {
  std::vector<bool> cell_asked(program.find_count, false);
  std::vector<bool> rows_asked(program.find_count, false);
  for (const Node& node : program.nodes) {
    if (node.op == Op::LookUp) cell_asked[program.find_of[node.a]] = true;
    if (node.op == Op::LookUpEvery) rows_asked[program.find_of[node.a]] = true;
  }
  program.word_bits.assign(program.lookups.size(), {});
  for (std::size_t i = 0; i < program.lookups.size(); ++i) {
    LookUp& lookup = program.lookups[i];
    find_text_conjunct(program, lookup.where, lookup);
    lookup.one_open_row_is_enough = !cell_asked[program.find_of[i]];
    lookup.one_row_is_enough = lookup.one_open_row_is_enough && !rows_asked[program.find_of[i]];
    if (!lookup.text_column) continue;
    const Table& table = program.tables[lookup.table];
    for (std::size_t row = 0; row < table.rows(); ++row) {
      program.word_bits[i].push_back(first_word_bit(table.cell(row, *lookup.text_column).text));
    }
  }
}

/// Equal conditions on one table share one search.
void number_finds(Program& program) {
  std::vector<std::pair<std::uint32_t, NodeId>> seen;
  program.find_of.clear();
  for (const LookUp& lookup : program.lookups) {
    const std::pair key{lookup.table, lookup.where};
    const auto at = std::find(seen.begin(), seen.end(), key);
    program.find_of.push_back(static_cast<std::uint32_t>(at - seen.begin()));
    if (at == seen.end()) seen.push_back(key);
  }
  program.find_count = static_cast<std::uint32_t>(seen.size());
}

struct Flags {
  bool row = false;
  bool item = false;
  bool record = false;
  bool history = false;
};

Flags operator|(const Flags& a, const Flags& b) {
  return {a.row || b.row, a.item || b.item, a.record || b.record, a.history || b.history};
}

class FlagWalk {
 public:
  explicit FlagWalk(Program& program) : program_(program) {}

  void run() {
    flags_.resize(program_.nodes.size());
    for (NodeId id = 0; id < program_.nodes.size(); ++id) {
      Flags flags = of_children(program_.nodes[id]);
      add_own(program_.nodes[id], flags);
      flags_[id] = flags;
      program_.nodes[id].history = flags.history;
      program_.nodes[id].scoped = flags.row || flags.item || flags.record;
    }
  }

 private:
  [[nodiscard]] Flags of(NodeId id) const { return id == kNoNode ? Flags{} : flags_[id]; }

  [[nodiscard]] Flags of_children(const Node& node) const {
    Flags flags = of(node.x) | of(node.y) | of(node.z);
    if (node.op == Op::IsOneOf) {
      for (const NodeId child : program_.lists[node.a])
        flags = flags | of(child);
    }
    if (node.op == Op::AnyItem) {  // the item belongs to the condition, the list to the outside
      Flags inside = of(node.y);
      inside.item = false;
      flags = of(node.x) | inside;
    }
    return flags;
  }

  void add_own(const Node& node, Flags& flags) const {
    switch (node.op) {
      case Op::RowCell:
        flags.row = true;
        break;
      case Op::ItemPart:
      case Op::PreviousPart:
      case Op::ItemSelf:
        flags.item = true;
        break;
      case Op::CurrentRecord:
        flags.record = true;
        break;
      case Op::LookUp:
      case Op::LookUpEvery:
      case Op::AnyRow: {
        const LookUp& lookup = program_.lookups[node.a];
        Flags inside = of(lookup.where);
        inside.row = false;
        flags = flags | inside | of(lookup.otherwise);
        break;
      }
      case Op::Query: {
        const Query& query = program_.queries[node.a];
        Flags inside = of(query.where) | of(query.value);
        inside.record = false;
        if (query.source == QuerySource::List) {
          inside.item = false;
        } else {
          flags.history = true;
        }
        flags = flags | inside | of(query.list);
        break;
      }
      default:  // every other operation adds nothing of its own
        break;
    }
  }

  Program& program_;
  std::vector<Flags> flags_;
};

void mark_rules(Program& program) {
  for (Rule& rule : program.rules) {
    rule.history = rule.concerns != kNoNode && program.nodes[rule.concerns].history;
    for (const Clause& clause : rule.clauses) {
      rule.history = rule.history || program.nodes[clause.when].history;
    }
  }
  program.look_back = 0;
  for (const Query& query : program.queries) {
    if (query.source != QuerySource::List) {
      program.look_back = std::max(program.look_back, query.within);
    }
  }
}

/// What a record must remember: what rules read from it, and what makes an order active.
void mark_history_fields(Program& program) {
  if (program.look_back == 0) return;
  for (const Node& node : program.nodes) {
    if (node.op == Op::RecordField) program.history_fields.set(node.a);
    if (node.op == Op::RecordWritten) program.history_written.set(node.a);
  }
  for (const FieldId field :
       {FieldId::SubstanceCode, FieldId::Dose, FieldId::ScheduleEvery, FieldId::ScheduleTimes,
        FieldId::ScheduleStart, FieldId::ScheduleEnd, FieldId::SupplyDoses}) {
    program.history_fields.set(index(field));
  }
}

void sort_spellings(Program& program) {
  std::stable_sort(program.spellings.begin(), program.spellings.end(),
                   [](const Spelling& a, const Spelling& b) { return a.node < b.node; });
}

}  // namespace

void finish_program(Program& program) {
  build_vocabularies(program);
  build_sites(program);
  build_routes(program);
  build_row_indexes(program);
  number_finds(program);
  build_word_bits(program);
  FlagWalk(program).run();
  mark_rules(program);
  mark_history_fields(program);
  sort_spellings(program);
}

}  // namespace meniscus::engine
