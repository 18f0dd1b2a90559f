// One value as evaluation sees it, and the words of the vocabularies.
#pragma once

#include <cstdint>
#include <string_view>

#include "engine/quantity/calendar.hpp"
#include "engine/quantity/dimension.hpp"

namespace meniscus::engine {

enum class State : std::uint8_t {
  Missing,  // absent, or unreadable: unknown
  None,     // known to be none
  Known,
  Any  // a table cell that matches every value
};

/// What kind of value an expression has.  Fixed when a rule is compiled.
enum class Type : std::uint8_t {
  Truth,     // a condition (four-valued, see Truth)
  Quantity,  // number + dimension
  Gauge,
  Date,
  Word,
  Text,
  YesNo,
  Texts,  // list of words or texts
  Items,  // list of components, steps or sites
  Band,   // table cell: from, up to but not including
  Record  // an earlier or active order or injection
};

/// True, false, unknown (for lack of data), or void: a comparison with none, which does not hold
/// and which `not` does not turn round.
enum class Truth : std::uint8_t { False, True, Unknown, Void };

/// A word is the 64-bit hash of its normal form (lower case ASCII, blanks and underscores as
/// hyphens).  kNoWord marks a word of a closed vocabulary that no row knows.
using Word = std::uint64_t;
inline constexpr Word kNoWord = 0;
Word word_hash(std::string_view text);

/// The value of one expression for one order.  Plain data; the text is owned by the block, the
/// program or the history that it came from.
///   Quantity, Gauge  number (base units); aux = dimension bits (Quantity)
///   Date             number = local seconds; aux = pack()
///   Word, YesNo      aux = the word / number 0 or 1; text = its name, or as written
///   Text             text
///   Texts, Items     aux = first << 32 | count, into the block's item list or the scratch list
///   Band             number = from; aux = the bits of the upper end (double); see band_end()
///   Record           aux = handle
struct Value {
  double number = 0;
  std::uint64_t aux = 0;
  std::string_view text;
  State state = State::Missing;

  [[nodiscard]] bool known() const { return state == State::Known; }
  static Value missing() { return {}; }
  static Value none() { return {0, 0, {}, State::None}; }
  static Value any() { return {0, 0, {}, State::Any}; }
  static Value quantity(double number, Dimension dimension) {
    return {number, dimension.bits(), {}, State::Known};
  }
  static Value word(Word word, std::string_view name) { return {0, word, name, State::Known}; }
  static Value yes_no(bool yes) { return {yes ? 1.0 : 0.0, 0, yes ? "yes" : "no", State::Known}; }
  static Value date(const Date& date) {
    return {static_cast<double>(date.seconds), pack(date), {}, State::Known};
  }
};

}  // namespace meniscus::engine
