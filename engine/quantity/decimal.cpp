// Numbers from text (contract: quantity.hpp, parse_number; decimal.hpp).
//
// Styles:  the feed declares point or comma.  What could be the other style, or a thousands group
//          that looks like a decimal (`1.000`, `1,000`, `2.500`), is Ambiguous.  A group that can
//          be nothing else (`1,000,000`, `1,000.5`) is read where the declared mark allows it.
//          `5,000` under a declared point is for the unit to tell: nobody writes biological units
//          to three decimals, but a feed may write milligrams and millilitres so.
#include "engine/quantity/decimal.hpp"

#include <array>
#include <charconv>
#include <cmath>

#include "engine/base/ascii.hpp"

namespace meniscus::engine {
namespace detail {
namespace {

using ascii::is_blank;
using ascii::is_digit;

constexpr std::uint64_t kExactDigits = std::uint64_t{1} << 53;
constexpr double kExactWhole = 9007199254740992.0;  // the same
constexpr int kExactPower = 22;                     // 10^22 is the largest exact power of ten
constexpr std::array<double, kExactPower + 1> kPowers = {
    1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
    1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

Error error(Errc code, std::string_view text, std::string_view why) {
  return {code, "`" + std::string(text.substr(0, 40)) + "` " + std::string(why), 0,
          static_cast<std::uint32_t>(text.size())};
}

/// The signs, digits and marks at the start of a text, counted.
struct Run {
  std::string_view body;  // digits and marks
  std::size_t points = 0;
  std::size_t commas = 0;
};

Run take_run(std::string_view text) {
  Run run;
  std::size_t n = 0;
  for (; n < text.size() && (is_digit(text[n]) || text[n] == '.' || text[n] == ','); ++n) {
    run.points += text[n] == '.' ? 1 : 0;
    run.commas += text[n] == ',' ? 1 : 0;
  }
  run.body = text.substr(0, n);
  return run;
}

/// One to three digits, then groups of three behind `separator`, at least `least` of them.
bool grouped(std::string_view body, char separator, std::size_t least) {
  const std::size_t first = body.find(separator);
  if (first == 0 || first > 3) return false;
  std::size_t groups = 0;
  for (std::size_t at = first; at < body.size(); at += 4, ++groups) {
    if (body[at] != separator || body.size() - at < 4) return false;
    for (std::size_t i = 1; i < 4; ++i)
      if (!is_digit(body[at + i])) return false;
  }
  return groups >= least;
}

/// The value of digits that do not fit into 64 bits.
Result<Decimal> wide_decimal(std::string_view body, char mark) {
  std::string plain(body);
  for (char& c : plain)
    if (c == mark) c = '.';
  Decimal decimal;
  decimal.wide = true;
  const auto [end, code] =
      std::from_chars(plain.data(), plain.data() + plain.size(), decimal.value);
  if (code == std::errc::result_out_of_range)
    return error(Errc::OutOfRange, body, "is larger or smaller than any number used here");
  if (code != std::errc{} || end != plain.data() + plain.size())
    return error(Errc::NotANumber, body, "is not a number");
  return decimal;
}

/// Digits with at most one `mark`; characters equal to `skip` are left out.
Result<Decimal> to_decimal(std::string_view body, char mark, char skip) {
  Decimal decimal;
  bool after_mark = false;
  int count = 0;
  for (const char c : body) {
    if (c == mark) {
      after_mark = true;
      continue;
    }
    if (c == skip) continue;
    decimal.digits = decimal.digits * 10 + static_cast<std::uint64_t>(c - '0');
    count += decimal.digits != 0 ? 1 : 0;
    decimal.scale += after_mark ? 1 : 0;
    if (count > 18) break;
  }
  if (count <= 18 && decimal.digits <= kExactDigits && decimal.scale <= kExactPower) return decimal;
  if (skip == '\0') return wide_decimal(body, mark);
  std::string plain;
  for (const char c : body)
    if (c != skip) plain += c;
  return wide_decimal(plain, mark);
}

/// Marks in a style that is not plainly the declared one.
Result<Decimal> doubtful_style(const Run& run, char mark, char other) {
  const std::string_view body = run.body;
  const std::size_t marks = mark == '.' ? run.points : run.commas;
  const std::size_t others = mark == '.' ? run.commas : run.points;
  if (others == 0)
    return grouped(body, mark, 2) ? error(Errc::Ambiguous, body,
                                          "has groups in a style that the feed does not declare")
                                  : error(Errc::NotANumber, body,
                                          "is not a number: it has more than one decimal mark");
  if (marks == 0 && grouped(body, other, 2)) return to_decimal(body, '\0', other);
  if (marks == 1) {
    const std::size_t at = body.find(mark);
    if (at + 1 < body.size() && grouped(body.substr(0, at), other, 1) &&
        body.find(other, at) == std::string_view::npos)
      return to_decimal(body, mark, other);
  }
  if (mark == '.' && marks == 0 && body.front() != '0' && grouped(body, other, 1)) {
    Result<Decimal> decimal = to_decimal(body, '\0', other);
    if (decimal) decimal->one_group = true;
    return decimal;
  }
  return mark == '.'
             ? doubtful_group(body)
             : error(Errc::Ambiguous, body,
                     "has a point where this feed writes a comma; it may be the decimal mark "
                     "or for thousands");
}

Result<Decimal> classify(const Run& run, DecimalMark style) {
  const char mark = style == DecimalMark::Point ? '.' : ',';
  const std::string_view body = run.body;
  const std::size_t marks = mark == '.' ? run.points : run.commas;
  const std::size_t others = mark == '.' ? run.commas : run.points;
  if (body.size() == run.points + run.commas)
    return error(Errc::NotANumber, body, "is not a number");
  if (body.back() == '.' || body.back() == ',')
    return error(Errc::NotANumber, body, "ends in a decimal mark; digits are needed after it");
  if (others != 0 || marks > 1) return doubtful_style(run, mark, mark == '.' ? ',' : '.');
  if (marks == 1 && body.back() == '0' && body.front() != '0' && grouped(body, mark, 1))
    return error(Errc::Ambiguous, body, "can be a decimal or thousands; write it without either");
  return to_decimal(body, mark, '\0');
}

bool starts_exponent(std::string_view rest) {
  if (rest.size() < 2 || (rest[0] != 'e' && rest[0] != 'E')) return false;
  const bool sign = rest[1] == '+' || rest[1] == '-';
  return is_digit(rest[sign ? (rest.size() > 2 ? 2 : 0) : 1]);
}

Error exponent_error(std::string_view text, std::size_t from) {
  std::size_t end = from + 2;
  while (end < text.size() && is_digit(text[end]))
    ++end;
  double value = 0;
  const auto read = std::from_chars(text.data(), text.data() + end, value);
  if (read.ec == std::errc::result_out_of_range)
    return error(Errc::OutOfRange, text.substr(0, end),
                 "is larger or smaller than any number used here");
  return error(Errc::NotANumber, text.substr(0, end),
               "has an exponent; write the number out in digits");
}

std::size_t digit_count(std::string_view text) {
  std::size_t n = 0;
  while (n < text.size() && is_digit(text[n]))
    ++n;
  return n;
}

std::uint64_t small_number(std::string_view digits) {
  std::uint64_t value = 0;
  for (const char c : digits)
    value = value * 10 + static_cast<std::uint64_t>(c - '0');
  return value;
}

/// The vulgar fraction characters, U+00BC to U+00BE and the eighths.
struct Vulgar {
  std::string_view text;
  std::uint64_t over = 1;
  std::uint64_t under = 1;
};
constexpr Vulgar kVulgar[] = {{"\u00BC", 1, 4}, {"\u00BD", 1, 2}, {"\u00BE", 3, 4},
                              {"\u215B", 1, 8}, {"\u215C", 3, 8}, {"\u215D", 5, 8},
                              {"\u215E", 7, 8}};

/// A proper fraction at the start of `text`; used == 0 where there is none.
struct Fraction {
  std::uint64_t over = 0;
  std::uint64_t under = 1;
  std::size_t used = 0;
};
Fraction take_fraction(std::string_view text) {
  for (const Vulgar& vulgar : kVulgar)
    if (text.substr(0, vulgar.text.size()) == vulgar.text)
      return {vulgar.over, vulgar.under, vulgar.text.size()};
  const std::size_t over = digit_count(text);
  if (over == 0 || over > 2 || over >= text.size() || text[over] != '/') return {};
  const std::string_view below = text.substr(over + 1);
  const std::size_t under = digit_count(below);
  if (under == 0 || under > 2) return {};
  const Fraction fraction{small_number(text.substr(0, over)), small_number(below.substr(0, under)),
                          over + 1 + under};
  const bool proper = fraction.over != 0 && fraction.over < fraction.under && fraction.under <= 64;
  return proper ? fraction : Fraction{};
}

/// `5/8`, `1 1/2`; nothing where `text` does not start with one.
bool fraction_at(std::string_view text, Scanned& scanned) {
  Fraction fraction = take_fraction(text);
  std::uint64_t whole = 0;
  std::size_t before = 0;
  if (fraction.used == 0) {
    const std::size_t digits = digit_count(text);
    if (digits == 0 || digits > 3) return false;
    whole = small_number(text.substr(0, digits));
    before = digits;
    while (before < text.size() && is_blank(text[before]))
      ++before;
    fraction = take_fraction(text.substr(before));
    if (fraction.used == 0) return false;
  }
  scanned.decimal.digits = whole * fraction.under + fraction.over;
  scanned.decimal.divisor = fraction.under;
  scanned.used = before + fraction.used;
  return true;
}

}  // namespace

Error doubtful_group(std::string_view text) {
  return error(
      Errc::Ambiguous, text,
      "has a comma where this feed writes a point; it may be the decimal mark or for thousands");
}

Result<Scanned> scan_number(std::string_view text, DecimalMark mark, bool fractions) {
  Scanned scanned;
  const std::size_t sign = !text.empty() && text[0] == '-' ? 1 : 0;
  const std::string_view body = text.substr(sign);
  const Run run = take_run(body);
  const std::string_view rest = body.substr(run.body.size());
  // A blank, a slash or a byte of a vulgar fraction may follow the digits of a fraction.
  if (fractions && (rest.empty() ? run.body.empty() : !(rest[0] >= 'A' && rest[0] <= 'z')) &&
      fraction_at(body, scanned)) {
    scanned.used += sign;
  } else {
    if (text.empty()) return Error{Errc::NotANumber, "a number is missing", 0, 0};
    if (run.body.empty()) return error(Errc::NotANumber, text, "does not start with a number");
    if (starts_exponent(rest)) return exponent_error(text, sign + run.body.size());
    const Result<Decimal> decimal = classify(run, mark);
    if (!decimal) return decimal.error();
    scanned.decimal = *decimal;
    scanned.used = sign + run.body.size();
  }
  scanned.decimal.negative = sign != 0;
  return scanned;
}

double scaled(const Decimal& decimal, double factor, double divisor) {
  double value = 0;
  if (decimal.wide) {
    value = decimal.value * factor / divisor;
  } else {
    const auto digits = static_cast<double>(decimal.digits);
    const double down =
        kPowers[static_cast<std::size_t>(decimal.scale)] * static_cast<double>(decimal.divisor);
    const double up = digits * factor;
    value = up <= kExactWhole ? up / (down * divisor) : digits / down * factor / divisor;
  }
  return decimal.negative ? -value : value;
}

}  // namespace detail

Result<double> parse_number(std::string_view text, DecimalMark mark, bool fractions) {
  const std::string_view body = ascii::trimmed(text);
  const Result<detail::Scanned> scanned = detail::scan_number(body, mark, fractions);
  if (!scanned) return scanned.error();
  if (scanned->used != body.size()) {
    const std::string_view rest = ascii::trimmed(body.substr(scanned->used));
    if (!rest.empty() && rest[0] >= '0' && rest[0] <= '9')
      return detail::error(Errc::Ambiguous, body, "has a blank inside the number");
    return detail::error(Errc::NotANumber, body, "has text after the number");
  }
  if (scanned->decimal.one_group) return detail::doubtful_group(body);
  return detail::scaled(scanned->decimal, 1, 1);
}

}  // namespace meniscus::engine
