// The words that the checker knows: of closed fields, by the tables of the rule set.
//
// Convention: a field's vocabulary (fields.def) names a table whose first column holds the words,
//             with `;`-separated spellings in `synonyms`; table `words` has a row a word, with the
//             field it belongs to.  A field whose table is not declared, or has no row for it, is
//             open: every word is taken.
#pragma once

#include <array>

#include "engine/order/field.hpp"
#include "engine/order/vocabulary.hpp"
#include "engine/program/program.hpp"

namespace meniscus::grammar {

class Vocabularies {
 public:
  /// Reads the tables; call once all are loaded.
  void build(const engine::Program& program);

  /// Null for an open field.
  [[nodiscard]] const engine::Vocabulary* of(engine::FieldId field) const;
  /// Words of a whole vocabulary table (`sites`); null when there is none.
  [[nodiscard]] const engine::Vocabulary* of_table(std::string_view table) const;

 private:
  std::array<engine::Vocabulary, engine::kFieldCount> fields_;
};

}  // namespace meniscus::grammar
