// What a medicine's name or an order's directions say in words and figures.  Private to
// engine/order.
//
// Reads:   strengths, amounts, volumes, intervals, routes, sites and sides, in one pass over the
//          tokens of a text; no regular expression and no allocation.
// Never:   guesses.  Two different readings of one thing leave it unread; so does a figure after
//          `maximum`, `dilute` and the like, or one that belongs to a vial or a syringe, to another
//          medicine, to what was before or to a change that is to come (aside_text.hpp).
// Doubt:   an amount that can be read in two ways (`0,5 mL`), or beside a different one, one that
// is
//          per something that no field holds (`50 mg/m2`), and what comes after the longest text
//          that is read are kept as written, so that it can be said that the words were not
//          compared.
#pragma once

#include <cstdint>
#include <string_view>

#include "engine/order/interval_text.hpp"
#include "engine/order/value_text.hpp"

namespace meniscus::engine {

/// One thing that a text says, as long as it says only one.
class Found {
 public:
  void add(const Value& value, std::string_view written);
  void confuse() { readings_ = 2; }
  /// As confuse(), by what can be read in two ways; `grouped` is what it is if its commas or points
  /// only group thousands, else missing.
  void doubt(std::string_view written, const Value& grouped);
  [[nodiscard]] bool clear() const { return readings_ == 1; }
  /// The text says nothing of it.
  [[nodiscard]] bool empty() const { return readings_ == 0; }
  [[nodiscard]] const Value& value() const { return value_; }
  [[nodiscard]] std::string_view written() const { return written_; }
  /// What can be read in two ways; empty when nothing can.
  [[nodiscard]] std::string_view doubtful() const { return doubtful_; }
  [[nodiscard]] const Value& grouped() const { return grouped_; }
  /// The first reading that is as much as written() in kind and differs from it.
  [[nodiscard]] std::string_view other() const { return other_; }
  [[nodiscard]] const Value& other_value() const { return other_value_; }
  /// A reading that holds later, after the first one: `0.25 mg for 4 weeks, then 0.5 mg`.
  void add_later(const Value& value, std::string_view written);
  /// All that differs from value() holds later.
  [[nodiscard]] bool only_later() const { return later_ && readings_ == 2; }
  /// What points into `from` points to the same place in `to`, which has the same bytes.
  void move(std::string_view from, std::string_view to);

 private:
  Value value_;
  Value grouped_ = Value::missing();
  Value other_value_ = Value::missing();
  std::string_view written_;  // a view into the text that was read, as are the next two
  std::string_view doubtful_;
  std::string_view other_;
  unsigned readings_ = 0;
  bool later_ = false;
};

struct FreeText {
  Found strength;
  Found amount;  // a dose in directions, the content in a name
  Found volume;
  Found per_weight;
  Found pack_amount;  // of `80mg/0.8mL`
  Found pack_volume;
  Found amount_rate;  // an amount a second, of `100 mg/week`, as are the next two
  Found volume_rate;
  Found weight_rate;  // of `15 mg/kg/day`
  Found interval;     // seconds
  Found route;
  Found site;
  Found side;
  std::uint32_t times = 1;          // doses in the interval
  bool ambiguous_interval = false;  // `biweekly`
  std::string_view ambiguous_text;
  std::string_view uncompared;  // an amount per something else, `50 mg/m2`
  std::string_view unread;      // the first word of what a text that is too long says further on
  bool prefilled = false;       // the name is that of a prefilled device
  bool calendar_rate = false;   // a rate is per month or year
  bool names_medicine = false;  // what is read depends on which medicine is the order's own

  /// As Found::move(), for all of it.
  void move(std::string_view from, std::string_view to);
};

enum class TextRole : std::uint8_t { Name, Directions };

/// Reads all that `text` says.  `own`: the code of the order's medicine, or its name; what
/// directions say of another one is not the order's.
FreeText read_free_text(const ReadContext& context, std::string_view text, TextRole role,
                        std::string_view own = {});

}  // namespace meniscus::engine
