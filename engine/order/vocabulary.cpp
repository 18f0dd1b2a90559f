// Words and their synonyms, found by hash (contract: vocabulary.hpp).
#include "engine/order/vocabulary.hpp"

namespace meniscus::engine {

void Vocabulary::add(std::string_view spelling, std::string_view canonical) {
  // The first row that claims a spelling keeps it; that two rows do is for the table's check to
  // say.
  by_spelling_.try_emplace(word_hash(spelling),
                           Entry{word_hash(canonical), std::string(canonical)});
}

const Vocabulary::Entry* Vocabulary::find(std::string_view text) const {
  const auto found = by_spelling_.find(word_hash(text));
  return found == by_spelling_.end() ? nullptr : &found->second;
}

}  // namespace meniscus::engine
