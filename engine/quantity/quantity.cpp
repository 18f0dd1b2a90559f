// Quantities, strengths, ranges and gauges from text (contract: quantity.hpp).
//
// Fast:    a number, a blank and a common unit cost one scan and one hash probe; only errors and
//          rare units go further.
#include <cmath>

#include "engine/base/ascii.hpp"
#include "engine/quantity/decimal.hpp"
#include "engine/quantity/unit_table.hpp"

namespace meniscus::engine {
namespace {

using ascii::is_digit;
using ascii::trimmed;

using detail::Decimal;
using detail::Ratio;
using detail::Scanned;

Error error(Errc code, std::string_view text, std::string_view why) {
  return {code, "`" + std::string(text.substr(0, 60)) + "` " + std::string(why), 0,
          static_cast<std::uint32_t>(text.size())};
}

/// The digits and the comma that `text` starts with.
std::string_view written_group(std::string_view text) {
  return text.substr(0, text.find_first_not_of("-0123456789,"));
}

Result<AnyQuantity> measured(const Decimal& number, const Ratio& ratio, std::string_view text,
                             const QuantityStyle& style) {
  const bool units = ratio.dimension.exponent(Base::Biological) == 1 && ratio.factor <= 1;
  if (number.one_group && !units)  // of millions, too: `2,400 million units`
    return detail::doubtful_group(written_group(text));
  AnyQuantity quantity{detail::scaled(number, ratio.factor, ratio.divisor), ratio.dimension};
  if (ratio.offset != 0) quantity.value += ratio.offset;
  if (!std::isfinite(quantity.value))
    return error(Errc::OutOfRange, text, "is larger than any quantity used here");
  if (style.body_mass && quantity.dimension == dim::kMass) quantity.dimension = dim::kBodyMass;
  return quantity;
}

/// The unit `unit` for a number that was read; `text` is the whole, for the message.
Result<AnyQuantity> with_unit(const Decimal& number, std::string_view unit, std::string_view text,
                              const QuantityStyle& style) {
  if (const detail::UnitRow* row = detail::find_row(unit, detail::flag_of(style.units)))
    return measured(number, {row->factor, row->divisor, row->offset, row->dimension}, text, style);
  if (unit.empty()) return error(Errc::MissingUnit, text, "has no unit");
  if (is_digit(unit[0])) return error(Errc::Ambiguous, text, "has a blank inside the number");
  const Result<Ratio> ratio = detail::parse_ratio(unit, style.units);
  if (!ratio) {
    Error why = ratio.error();
    why.offset += static_cast<std::uint32_t>(text.size() - unit.size());
    return why;
  }
  return measured(number, *ratio, text, style);
}

bool has_prefix_in_any_case(std::string_view text, std::string_view lowered) {
  if (text.size() < lowered.size()) return false;
  for (std::size_t i = 0; i < lowered.size(); ++i)
    if ((static_cast<unsigned char>(text[i]) | 0x20U) !=
        (static_cast<unsigned char>(lowered[i]) | 0x20U))
      return false;
  return true;
}

// ---- strengths

bool is_amount(Dimension d) {
  return d == dim::kMass || d == dim::kBiological || d == dim::kAmountOfSubstance ||
         d == dim::kEquivalent;
}

Result<AnyQuantity> checked_strength(const Result<AnyQuantity>& read, std::string_view text) {
  if (!read || is_amount(read->dimension * dim::kVolume)) return read;
  return error(Errc::DimensionMismatch, text,
               "is " + describe(read->dimension) + "; a strength is an amount per volume");
}

/// Whole digits with blanks or commas between groups of three: `10 000`.  Negative: not so.
double whole_number(std::string_view text) {
  double value = 0;
  std::size_t since_mark = 0;
  bool marked = false;
  for (const char c : text) {
    if (is_digit(c)) {
      value = value * 10 + (c - '0');
      ++since_mark;
    } else if ((c == ' ' || c == ',') && since_mark > 0 && since_mark <= 3 &&
               (!marked || since_mark == 3)) {
      marked = true;
      since_mark = 0;
    } else {
      return -1;
    }
  }
  return since_mark == 0 || (marked && since_mark != 3) ? -1 : value;
}

/// Takes a trailing `w/v` off.  False where another one (`w/w`, `v/v`) stands there.
bool take_weight_in_volume(std::string_view& text) {
  if (text.size() < 3) return true;
  const std::string_view tail = text.substr(text.size() - 3);
  if (has_prefix_in_any_case(tail, "w/w") || has_prefix_in_any_case(tail, "v/v")) return false;
  if (has_prefix_in_any_case(tail, "w/v")) text = trimmed(text.substr(0, text.size() - 3));
  return true;
}

/// `U-100`, `U100`, `U 100`: units per millilitre.
Result<AnyQuantity> scale_strength(std::string_view text) {
  std::string_view digits = text.substr(1);
  if (!digits.empty() && (digits[0] == '-' || digits[0] == ' ')) digits.remove_prefix(1);
  const double value = whole_number(digits);
  if (value <= 0) return error(Errc::NotANumber, text, "does not start with a number");
  return AnyQuantity{value / 1000, dim::kBiologicalPerVolume};
}

/// `1:1000` is one gram in 1000 millilitres.
Result<AnyQuantity> ratio_strength(std::string_view text, std::size_t colon) {
  std::string_view right = trimmed(text.substr(colon + 1));
  if (!take_weight_in_volume(right)) return error(Errc::Ambiguous, text, "is not weight in volume");
  const double parts = whole_number(trimmed(text.substr(0, colon)));
  const double in = whole_number(right);
  if (parts != 1 || in <= 0)
    return error(Errc::NotANumber, text, "is no ratio strength; write it as 1:1000");
  return AnyQuantity{1 / in, dim::kMassPerVolume};
}

/// `100 mg/5 mL`, `80mg/0.8mL`, `100 mg per 5 mL`, `100 mg in 5 mL`: two quantities.
Result<AnyQuantity> quotient(std::string_view text, std::size_t at, std::size_t width,
                             const QuantityStyle& style) {
  Result<AnyQuantity> amount = parse_quantity(text.substr(0, at), style);
  if (!amount) return amount;
  Result<AnyQuantity> volume = parse_quantity(text.substr(at + width), style);
  if (!volume) return volume;
  if (!(volume->value > 0)) return error(Errc::OutOfRange, text, "is an amount in no volume");
  return AnyQuantity{amount->value / volume->value, amount->dimension / volume->dimension};
}

/// Where a second number follows a fraction line or `per`, `in`; npos where none does.
std::size_t second_number(std::string_view text, std::size_t from, std::size_t& width) {
  for (std::size_t i = from; i < text.size(); ++i) {
    width = text[i] == '/' ? 1 : 0;
    if (has_prefix_in_any_case(text.substr(i), " per ")) width = 5;
    if (has_prefix_in_any_case(text.substr(i), " in ")) width = 4;
    if (width == 0) continue;
    const std::string_view right = trimmed(text.substr(i + width));
    if (!right.empty() && (is_digit(right[0]) || right[0] == '.')) return i;
  }
  return std::string_view::npos;
}

// ---- ranges

struct Separator {
  std::size_t at = std::string_view::npos;
  std::size_t width = 0;
};

/// The first ` to `, dash or hyphen with a number on its right.
Separator find_separator(std::string_view text) {
  constexpr std::string_view kDash = "\u2013";
  for (std::size_t i = 1; i < text.size(); ++i) {
    std::size_t width = text[i] == '-' ? 1 : 0;
    if (text.substr(i, kDash.size()) == kDash) width = kDash.size();
    if (has_prefix_in_any_case(text.substr(i), " to ")) width = 4;
    if (width == 0) continue;
    const std::string_view right = trimmed(text.substr(i + width));
    if (!right.empty() && (is_digit(right[0]) || right[0] == '.')) return {i, width};
  }
  return {};
}

}  // namespace

Result<AnyQuantity> parse_quantity(std::string_view text, const QuantityStyle& style) {
  text = trimmed(text);
  const Result<Scanned> number = detail::scan_number(text, style.mark, true);
  if (!number) return number.error();
  return with_unit(number->decimal, trimmed(text.substr(number->used)), text, style);
}

Result<AnyQuantity> parse_quantity_parts(std::string_view number, std::string_view unit,
                                         const QuantityStyle& style) {
  number = trimmed(number);
  const Result<Scanned> scanned = detail::scan_number(number, style.mark, true);
  if (!scanned) return scanned.error();
  if (scanned->used != number.size())
    return error(Errc::NotANumber, number, "has text after the number");
  unit = trimmed(unit);
  if (unit.empty()) return error(Errc::MissingUnit, number, "has no unit");
  return with_unit(scanned->decimal, unit, unit, style);
}

Result<AnyQuantity> parse_strength(std::string_view text, const QuantityStyle& style) {
  text = trimmed(text);
  if (!text.empty() && (text[0] == 'U' || text[0] == 'u')) return scale_strength(text);
  if (const std::size_t colon = text.find(':'); colon != std::string_view::npos)
    return ratio_strength(text, colon);
  const Result<Scanned> number = detail::scan_number(text, style.mark, false);
  if (!number) return number.error();
  std::string_view unit = trimmed(text.substr(number->used));
  if (const detail::UnitRow* row = detail::find_row(unit, detail::flag_of(style.units)))
    if (!row->dimension.is_number())
      return checked_strength(
          measured(number->decimal, {row->factor, row->divisor, row->offset, row->dimension}, text,
                   style),
          text);
  if (!unit.empty() && unit[0] == '%') {
    if (!take_weight_in_volume(unit))
      return error(Errc::Ambiguous, text, "is not weight in volume");
    if (number->decimal.one_group) return detail::doubtful_group(written_group(text));
    if (unit == "%")  // grams in 100 mL
      return AnyQuantity{detail::scaled(number->decimal, 1, 100), dim::kMassPerVolume};
  }
  std::size_t width = 0;
  const std::size_t at = second_number(text, number->used, width);
  if (at != std::string_view::npos) return checked_strength(quotient(text, at, width, style), text);
  return checked_strength(with_unit(number->decimal, unit, text, style), text);
}

Result<QuantityRange> parse_range(std::string_view text, const QuantityStyle& style) {
  text = trimmed(text);
  const Separator separator = find_separator(text);
  const Result<AnyQuantity> whole = parse_quantity(text, style);
  if (whole) return QuantityRange{*whole, *whole};
  if (separator.at == std::string_view::npos) return whole.error();
  const std::string_view left = trimmed(text.substr(0, separator.at));
  const std::string_view right = trimmed(text.substr(separator.at + separator.width));
  const Result<AnyQuantity> high = parse_quantity(right, style);
  if (!high) return high.error();
  Result<AnyQuantity> low = parse_quantity(left, style);
  if (!low && low.error().code == Errc::MissingUnit) {
    const Result<Scanned> used = detail::scan_number(right, style.mark, true);
    if (used) low = parse_quantity_parts(left, right.substr(used->used), style);
  }
  if (!low) return low.error();
  if (low->dimension != high->dimension)
    return error(Errc::DimensionMismatch, text,
                 "goes from " + describe(low->dimension) + " to " + describe(high->dimension));
  if (compare(low->value, high->value) > 0)
    return error(Errc::Ambiguous, text, "goes from the larger to the smaller");
  return QuantityRange{*low, *high};
}

Result<double> parse_gauge(std::string_view text) {
  constexpr double kWidest = 6;
  constexpr double kThinnest = 34;
  const std::string_view body = trimmed(text);
  std::size_t digits = 0;
  double gauge = 0;
  for (; digits < body.size() && digits < 9 && is_digit(body[digits]); ++digits)
    gauge = gauge * 10 + (body[digits] - '0');
  const std::string_view word = trimmed(body.substr(digits));
  const auto is_word = [word](std::string_view lowered) {
    return word.size() == lowered.size() && has_prefix_in_any_case(word, lowered);
  };
  if (digits == 0 || !(word.empty() || is_word("g") || is_word("ga") || is_word("gauge")))
    return error(Errc::NotANumber, body, "is no gauge; write it as 25 G");
  if (gauge < kWidest || gauge > kThinnest)
    return error(Errc::OutOfRange, body, "is no gauge; gauges run from 6 to 34");
  return gauge;
}

}  // namespace meniscus::engine
