// The words that a field may hold, with their synonyms; made from the tables of a rule set.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <unordered_map>

#include "engine/order/value.hpp"

namespace meniscus::engine {

class Vocabulary {
 public:
  /// `canonical` is the row's word; `spelling` is it or one of its synonyms.
  void add(std::string_view spelling, std::string_view canonical);

  struct Entry {
    Word word = kNoWord;
    std::string name;  // canonical
  };
  /// Case, blanks, underscores and hyphens do not matter.  Null when no row knows the word.
  [[nodiscard]] const Entry* find(std::string_view text) const;
  [[nodiscard]] bool empty() const { return by_spelling_.empty(); }
  [[nodiscard]] std::size_t size() const { return by_spelling_.size(); }
  [[nodiscard]] const std::unordered_map<Word, Entry>& entries() const { return by_spelling_; }

 private:
  std::unordered_map<Word, Entry> by_spelling_;
};

}  // namespace meniscus::engine
