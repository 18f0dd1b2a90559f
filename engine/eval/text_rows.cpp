// Contract: see text_rows.hpp.
#include "engine/eval/text_rows.hpp"

#include <algorithm>

#include "engine/eval/text_search.hpp"

namespace meniscus::engine {

void TextRows::make() {
  entries_.assign(kTexts, {});
  for (const LookUp& lookup : program_.lookups) {
    if (lookup.text_column)
      stride_ = std::max(stride_, words(program_.tables[lookup.table].rows()));
  }
  found_.resize(kTexts * stride_);
}

void TextRows::search(std::uint32_t number, std::string_view text,
                      std::span<std::uint64_t> rows) const {
  const LookUp& lookup = program_.lookups[number];
  const Table& table = program_.tables[lookup.table];
  const std::vector<std::uint64_t>& bits = program_.word_bits[number];
  const std::uint64_t present = word_bits(text);
  for (std::size_t row = 0; row < bits.size(); ++row) {
    const bool found =
        bits[row] == 0 ||
        ((bits[row] & present) != 0 && has_words(text, table.cell(row, *lookup.text_column).text));
    if (found) rows[row / 64] |= std::uint64_t{1} << row % 64;
  }
}

void TextRows::add(std::uint32_t number, std::string_view text, std::span<std::uint64_t> rows) {
  if (text.empty() || text.size() > kLongest) return search(number, text, rows);
  if (entries_.empty()) make();
  std::uint64_t hash = number + 1;
  for (const char c : text)
    hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001B3U;
  const std::size_t at = (hash >> 20U) % kTexts;
  Entry& entry = entries_[at];
  const std::span<std::uint64_t> found(found_.data() + at * stride_, rows.size());
  if (entry.lookup != number || std::string_view(entry.text.data(), entry.length) != text) {
    entry.lookup = number;
    entry.length = static_cast<std::uint8_t>(text.size());
    std::ranges::copy(text, entry.text.begin());
    std::ranges::fill(found, 0);
    search(number, text, found);
  }
  for (std::size_t i = 0; i < rows.size(); ++i)
    rows[i] |= found[i];
}

}  // namespace meniscus::engine
