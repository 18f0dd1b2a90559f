// A program that knows the words of the shipped tables and has no rules: enough for a reader.
//
// Reads:  rules/{words,routes,sites,vehicles,allergens,substances}.csv by their first columns
//         (word and synonyms); these tables hold no quoted cells.
#pragma once

#include <fstream>
#include <string>
#include <string_view>

#include "engine/program/program.hpp"

namespace meniscus::testing {

inline std::string_view cell(std::string_view row, unsigned number) {
  for (; number > 0; --number) {
    const std::size_t comma = row.find(',');
    row = comma == std::string_view::npos ? std::string_view{} : row.substr(comma + 1);
  }
  return row.substr(0, row.find(','));
}

inline void add_spellings(engine::Vocabulary& vocabulary, std::string_view word,
                          std::string_view synonyms) {
  vocabulary.add(word, word);
  while (!synonyms.empty()) {
    const std::size_t end = synonyms.find(';');
    std::string_view one = synonyms.substr(0, end);
    while (one.starts_with(' '))
      one.remove_prefix(1);
    if (!one.empty()) vocabulary.add(one, word);
    if (end == std::string_view::npos) break;
    synonyms.remove_prefix(end + 1);
  }
}

/// The vocabularies of the tables in `folder`.
inline void load_vocabularies(const std::string& folder, engine::Program& program) {
  for (const engine::FieldInfo& field : engine::fields()) {
    if (field.vocabulary.empty()) continue;
    const bool words = field.vocabulary == "words";
    std::ifstream file(folder + "/" + std::string(field.vocabulary) + ".csv");
    std::string row;
    std::getline(file, row);  // the head
    while (std::getline(file, row)) {
      if (row.empty() || (words && cell(row, 0) != field.name)) continue;
      add_spellings(program.vocabularies[engine::index(field.id)], cell(row, words ? 1 : 0),
                    cell(row, words ? 2 : 1));
    }
  }
}

}  // namespace meniscus::testing
