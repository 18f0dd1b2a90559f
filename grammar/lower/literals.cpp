// Literals of rules, read by the engine's own readers with the rule language's units.
#include "grammar/lower/literals.hpp"

#include <string>

#include "engine/base/ascii.hpp"
#include "engine/quantity/calendar.hpp"
#include "engine/quantity/quantity.hpp"
#include "grammar/check/suggest.hpp"

namespace meniscus::grammar {
namespace {

using engine::ascii::is_digit;

using engine::Result;
using engine::Type;
using engine::Value;

constexpr engine::QuantityStyle kRuleStyle{engine::DecimalMark::Point, engine::UnitSet::Rule,
                                           false};

std::string_view without_end(std::string_view text, std::size_t length) {
  text.remove_suffix(length);
  while (!text.empty() && text.back() == ' ')
    text.remove_suffix(1);
  return text;
}

Literal of_quantity(double number, engine::Dimension dimension, std::string_view text) {
  Value value = Value::quantity(number, dimension);
  value.text = text;
  return {value, Type::Quantity, false};
}

bool is_gauge(std::string_view text) {
  if (text.size() < 2 || text.back() != 'G') return false;
  const std::string_view number = without_end(text, 1);
  return !number.empty() && is_digit(number.back());
}

/// `100 mg/5 mL`, `1:1000`, `1 % w/v`.
bool is_strength(std::string_view text) {
  if (text.find(':') != std::string_view::npos || text.ends_with("w/v")) return true;
  const std::size_t slash = text.rfind('/');
  if (slash == std::string_view::npos || slash == 0 || is_digit(text[slash - 1])) return false;
  std::size_t after = slash + 1;
  while (after < text.size() && text[after] == ' ')
    ++after;
  return after < text.size() && is_digit(text[after]);
}

}  // namespace

Result<Literal> read_quantity_literal(std::string_view text) {
  if (text.ends_with('%')) {
    const auto share = engine::parse_number(without_end(text, 1), engine::DecimalMark::Point, true);
    if (!share) return share.error();
    Literal literal = of_quantity(*share / 100, engine::dim::kNumber, text);
    literal.percent = true;
    return literal;
  }
  if (is_gauge(text)) {
    const auto gauge = engine::parse_gauge(text);
    if (!gauge) return gauge.error();
    return Literal{{*gauge, 0, text, engine::State::Known}, Type::Gauge, false};
  }
  if (const auto number = engine::parse_number(text, engine::DecimalMark::Point, true)) {
    return of_quantity(*number, engine::dim::kNumber, text);
  }
  const auto quantity = is_strength(text) ? engine::parse_strength(text, kRuleStyle)
                                          : engine::parse_quantity(text, kRuleStyle);
  if (!quantity) return quantity.error();
  return of_quantity(quantity->value, quantity->dimension, text);
}

Result<Literal> read_date_literal(std::string_view text) {
  const auto date = engine::parse_date(text);
  if (!date) return date.error();
  if (date->precision != engine::Precision::Day) {
    return engine::Error{engine::Errc::NotADate, "a date with year, month and day is needed", 0,
                         static_cast<std::uint32_t>(text.size())};
  }
  Value value = Value::date(*date);
  value.text = text;
  return Literal{value, Type::Date, false};
}

Result<Literal> read_setting_literal(std::string_view text) {
  if (text == "yes" || text == "no") return Literal{Value::yes_no(text == "yes"), Type::YesNo};
  if (!text.empty() && (is_digit(text.front()) || text.front() == '.')) {
    const bool dashed = text.size() == 10 && text[4] == '-' && text[7] == '-';
    return dashed ? read_date_literal(text) : read_quantity_literal(text);
  }
  return Literal{Value::word(engine::word_hash(text), text), Type::Word};
}

std::optional<std::int64_t> read_day(Report& report, SourceId source, const Name& date) {
  if (date.text.empty()) return std::nullopt;
  const auto read = engine::parse_date(date.text);
  if (read && read->precision == engine::Precision::Day) return read->day();
  report.add(source, {Code::R0424,
                      date.span,
                      read ? "a date with year, month and day is needed" : read.error().message,
                      {},
                      "write it like `2026-05-01`"});
  return std::nullopt;
}

std::optional<engine::Grade> read_grade(Report& report, SourceId source, const Name& name) {
  const auto known = engine::grade_named(name.text);
  if (known || name.text.empty()) return known;  // where none was read, that was reported
  Nearest nearest(name.text);
  for (const std::string_view each : {"note", "caution", "clarify", "hold"})
    nearest.offer(each);
  report.add(source, {Code::R0211,
                      name.span,
                      "no grade is named " + quoted(name.text),
                      {},
                      nearest.help("the grades are note, caution, clarify and hold")});
  return std::nullopt;
}

}  // namespace meniscus::grammar
