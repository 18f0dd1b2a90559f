// Texts of fields as the yardstick's readers take them: one unit each, no doubts.
#pragma once

#include <charconv>
#include <cstdint>
#include <string_view>

#include "tests/bench/yardstick/plain_order.hpp"

namespace meniscus::bench {

inline constexpr double kMillimetresPerInch = 25.4;

inline double number_at(std::string_view& text) {
  double value = kMissing;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{}) return kMissing;
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  return value;
}

inline bool skip(std::string_view& text, char c) {
  if (text.empty() || text.front() != c) return false;
  text.remove_prefix(1);
  return true;
}

/// "0.25 mL", "71 kg", "200 mg/mL": the number, when the unit is the one that the field is kept in.
inline double plain(std::string_view text, std::string_view unit) {
  const double value = number_at(text);
  skip(text, ' ');
  return text == unit ? value : kMissing;
}

/// "5/8 in", "1 1/2 in", "4 mm" in millimetres.
inline double length(std::string_view text) {
  double value = number_at(text);
  if (skip(text, '/')) value /= number_at(text);
  skip(text, ' ');
  if (!text.empty() && text.front() >= '0' && text.front() <= '9') {
    double part = number_at(text);
    if (skip(text, '/')) part /= number_at(text);
    value += part;
    skip(text, ' ');
  }
  if (text == "in") return value * kMillimetresPerInch;
  return text == "mm" ? value : kMissing;
}

inline int two_digits(std::string_view text, std::size_t at) {
  return (text[at] - '0') * 10 + (text[at + 1] - '0');
}

/// Days since 1970-01-01 (H. Hinnant, days_from_civil).
inline std::int64_t days_from(int year, int month, int day_of_month) {
  if (month <= 2) --year;
  const int era = year / 400;
  const int year_of_era = year - era * 400;
  const int day_of_year = (153 * (month > 2 ? month - 3 : month + 9) + 2) / 5 + day_of_month - 1;
  return std::int64_t{era} * 146097 + std::int64_t{year_of_era} * 365 + year_of_era / 4 -
         year_of_era / 100 + day_of_year - 719468;
}

}  // namespace meniscus::bench
