// Which rows of a table have a text that stands in one of an order's texts (`order.directions
// contains row.text`), remembered by the order's text: the same few come again and again.
//
// Exact:   a row is named when has_words() finds its text, and when its cell tells nothing before
//          the whole condition is looked at.
// Bounded: kTexts texts of up to kLongest bytes; a new one takes the place of an old one.  A longer
//          text is searched each time.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "engine/program/program.hpp"

namespace meniscus::engine {

class TextRows {
 public:
  explicit TextRows(const Program& program) : program_(program) {}

  /// One bit a row, 64 rows a word.
  [[nodiscard]] static std::size_t words(std::size_t rows) { return (rows + 63) / 64; }
  [[nodiscard]] static bool holds(std::span<const std::uint64_t> rows, std::uint32_t row) {
    return (rows[row / 64] >> row % 64 & 1U) != 0;
  }

  /// Adds to `rows` those that look-up `number`, which has a text column, finds in `text`.
  void add(std::uint32_t number, std::string_view text, std::span<std::uint64_t> rows);
  /// Forgets what was found: the nodes or tables of the program have changed.
  void forget() { entries_.clear(); }

 private:
  static constexpr std::size_t kTexts = 512;  // a power of two
  static constexpr std::size_t kLongest = 59;
  struct Entry {
    std::uint32_t lookup = 0;
    std::uint8_t length = 0;  // 0: nobody's
    std::array<char, kLongest> text{};
  };

  void search(std::uint32_t number, std::string_view text, std::span<std::uint64_t> rows) const;
  void make();

  const Program& program_;
  std::vector<Entry> entries_;        // by hash; empty until the first text comes
  std::vector<std::uint64_t> found_;  // by entry, stride_ words each
  std::size_t stride_ = 0;
};

}  // namespace meniscus::engine
