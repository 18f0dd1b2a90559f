// Contract: see option_values.hpp.
#include "adapters/cli/option_values.hpp"

#include <charconv>

#include "engine/base/ascii.hpp"
#include "engine/quantity/calendar.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::adapters {

using engine::Status;

engine::Error usage(std::string sentence) {
  return {engine::Errc::Usage, std::move(sentence), 0, 0};
}

std::string in_ticks(std::string_view text) { return "`" + std::string(text) + "`"; }

std::optional<std::size_t> whole_number(std::string_view text) {
  std::size_t number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return number;
}

Status read_day(std::string_view option, std::string_view text, std::optional<std::int64_t>& into) {
  if (text.empty()) return engine::Done{};
  const auto date = engine::parse_date(text);
  if (!date || date->precision < engine::Precision::Day) {
    return usage(std::string(option) + " cannot be " + in_ticks(text) +
                 "; write a day as 2026-03-02");
  }
  into = date->day();
  return engine::Done{};
}

Status read_share(std::string_view option, std::string_view text, std::string_view usual,
                  std::optional<double>& into) {
  if (text.empty()) return engine::Done{};
  std::string_view number = text;
  if (number.ends_with('%')) number.remove_suffix(1);
  const auto share =
      engine::parse_number(engine::ascii::trimmed(number), engine::DecimalMark::Point);
  if (!share || *share < 0 || *share > 100) {
    return usage(std::string(option) + " cannot be " + in_ticks(text) +
                 "; write a share from 0% to 100%, as " + std::string(usual));
  }
  into = *share;
  return engine::Done{};
}

Status read_count(std::string_view option, std::string_view text, std::size_t least,
                  std::size_t most, std::size_t& into) {
  if (text.empty()) return engine::Done{};
  const auto number = whole_number(text);
  if (!number || *number < least || *number > most) {
    return usage(std::string(option) + " cannot be " + in_ticks(text) +
                 "; write a whole number from " + std::to_string(least) + " to " +
                 std::to_string(most));
  }
  into = *number;
  return engine::Done{};
}

Status read_days(std::string_view option, std::string_view text, std::optional<std::size_t>& into) {
  if (text.empty()) return engine::Done{};
  std::size_t days = 0;
  Status read = read_count(option, text, 1, 36'525, days);
  if (read) into = days;
  return read;
}

}  // namespace meniscus::adapters
