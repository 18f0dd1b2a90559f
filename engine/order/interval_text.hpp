// How often, in words: "weekly", "every 2 weeks", "q7d", "twice a week", "once daily".  Private to
// engine/order.
//
// Reads:   English words and the usual Latin short forms; a word at a time, no regular expression,
//          no allocation.
// Doubt:   `biweekly` and `bimonthly` mean two things (ISMP list of error-prone abbreviations
//          treats such frequencies as unsafe; from memory), as do ranges ("every 2-3 weeks").
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "engine/base/source_text.hpp"

namespace meniscus::engine {

/// A piece of text: a run of letters, or a number with its points, commas and slashes.
struct Token {
  std::string_view text;
  std::uint32_t offset;
  bool number;
  char before;  // the character before it, blank at the start
};

/// Cuts a text into tokens.  Only texts of more than kInline tokens allocate.  What comes after
/// kMost is left out, and `unread` is its first token: some looks ahead are as long as a run of
/// numbers, so that the work could grow with the square of a text without end.
struct Tokens {
  static constexpr std::size_t kInline = 96;
  static constexpr std::size_t kMost = 2048;
  std::size_t size = 0;
  std::string_view unread;  // empty: the whole text was cut

  explicit Tokens(std::string_view text);
  [[nodiscard]] bool whole() const { return unread.empty(); }
  [[nodiscard]] bool is(std::size_t at, std::string_view lower_case) const;
  [[nodiscard]] const Token& operator[](std::size_t at) const {
    return at < kInline ? first_[at] : more_[at - kInline];
  }

 private:
  std::array<Token, kInline> first_;
  std::vector<Token> more_;
};

struct Interval {
  double seconds = 0;
  std::uint32_t times = 1;  // doses in it
  bool ambiguous = false;   // a word that means two things; seconds is then 0
  std::size_t tokens = 0;   // how many were used
  [[nodiscard]] bool same_as(const Interval& other) const {
    return seconds == other.seconds && times == other.times && ambiguous == other.ambiguous;
  }
};

/// The interval that starts at token `at`, if one does.
std::optional<Interval> interval_at(const Tokens& tokens, std::size_t at);

/// `text` as nothing but an interval.
std::optional<Interval> parse_interval_words(std::string_view text);

/// Seconds of the period that a word names ("week", "days", "Monday"); 0 when it names none.
double period_at(const Tokens& tokens, std::size_t at);

/// A small whole number in digits or as a word ("two"); 0 when it is none.
std::uint32_t small_number(const Token& token);

}  // namespace meniscus::engine
