// One order on its way to being written: the text of each field, and the figures behind them.
//
// Texts:   what a prescriber would write; empty is absent, kNone is known to be none.
// Figures: of the order as it was meant.  A defect changes texts and leaves them as they are.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

#include "engine/order/field.hpp"

namespace meniscus::year {

using engine::FieldId;

inline constexpr std::string_view kNone = "none";

class Draft {
 public:
  void set(FieldId field, std::string_view text) { texts_[index(field)] = text; }
  void set_number(FieldId field, double value, std::string_view unit = {});
  void set_day(FieldId field, std::int64_t day);
  void clear(FieldId field) { texts_[index(field)].clear(); }
  [[nodiscard]] const std::string& at(FieldId field) const { return texts_[index(field)]; }
  [[nodiscard]] bool has(FieldId field) const { return !at(field).empty(); }

  double dose = 0;    // in the regimen's unit
  double volume = 0;  // mL of one injection; 0 where nobody reckons in millilitres
  std::int64_t start = 0;
  int doses = 1;
  double body_kilograms = 0;

 private:
  static std::size_t index(FieldId field) { return static_cast<std::size_t>(field); }
  std::array<std::string, engine::kFieldCount> texts_;
};

/// "0.25 mL"; "0.25" without a unit.  Six digits, no needless zeros.
std::string number_text(double value, std::string_view unit = {});

/// The order as one line of JSON, without its line end.
void append_json(std::string& out, const Draft& draft);

/// What HL7 v2 orders commonly carry, as one RDE^O11 message: patient, medicine with the strength
/// in its name, dose, route and when it was written; for a stop or a cancellation the order's
/// number.
void append_hl7(std::string& out, const Draft& draft);

}  // namespace meniscus::year
