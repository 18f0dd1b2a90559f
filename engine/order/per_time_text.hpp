// Amounts per time in words: "100 mg/week", "50 mg a week in two doses", "2 mL weekly total",
// "weekly total: 100 mg".  Private to engine/order; see free_text.hpp.
//
// Reads:   days, weeks, months and years, and how many doses share the amount.
// Never:   "50 mg weekly" or "50 mg every week", a dose with how often; "50 mg a week later";
//          hours and shorter, which are how fast something is given.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>

#include "engine/order/interval_text.hpp"

namespace meniscus::engine {

struct PerTime {
  double seconds = 0;
  std::uint32_t doses = 0;  // that share the amount; 0: not said
  std::size_t tokens = 0;   // how many were used; 0: it is no amount per time
};

/// What follows an amount whose unit is token `unit` of `text`.
PerTime per_time_after(const Tokens& tokens, std::string_view text, std::size_t unit);

/// "weekly total", "total weekly dose of", "total of", before an amount.
struct TotalBefore {
  double seconds = 0;      // 0: it may stand behind the amount ("total 100 mg per week")
  std::size_t number = 0;  // the token of the amount's number; 0: there is none
};
TotalBefore total_at(const Tokens& tokens, std::string_view text, std::size_t at);

/// Months and years, which are no fixed number of days.
bool is_by_calendar(double seconds);

}  // namespace meniscus::engine
