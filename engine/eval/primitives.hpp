// What one operation means for one pair of values.  The tree walk uses these directly; the columns
// do the same over 64 lanes and are tested against them.
#pragma once

#include <cmath>
#include <cstdint>

#include "engine/eval/text_search.hpp"
#include "engine/program/program.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::engine::primitives {

/// A quantity that is zero of every kind: the sum of nothing.
inline constexpr std::uint64_t kZeroOfAnyKind = 0;

inline bool same_kind(std::uint64_t a, std::uint64_t b) {
  return a == b || a == kZeroOfAnyKind || b == kZeroOfAnyKind;
}
inline Truth truth(bool holds) { return holds ? Truth::True : Truth::False; }

/// What the states alone say about a comparison; nothing when both sides are known.
/// `any` matches; none never holds; missing is unknown.
inline std::optional<Truth> by_state(const Value& x, const Value& y) {
  if (x.known() && y.known()) return std::nullopt;
  if (x.state == State::Any || y.state == State::Any) return Truth::True;
  if (x.state == State::None || y.state == State::None) return Truth::Void;
  return Truth::Unknown;
}

inline Truth negate(Truth t) {
  if (t == Truth::True) return Truth::False;
  return t == Truth::False ? Truth::True : t;
}
/// False settles it, then void, then unknown.
inline Truth both(Truth a, Truth b) {
  if (a == Truth::False || b == Truth::False) return Truth::False;
  if (a == Truth::Void || b == Truth::Void) return Truth::Void;
  return a == Truth::Unknown || b == Truth::Unknown ? Truth::Unknown : Truth::True;
}
/// True settles it, then unknown, then void.
inline Truth either(Truth a, Truth b) {
  if (a == Truth::True || b == Truth::True) return Truth::True;
  if (a == Truth::Unknown || b == Truth::Unknown) return Truth::Unknown;
  return a == Truth::Void || b == Truth::Void ? Truth::Void : Truth::False;
}

/// The calendar day of a date, as its seconds are kept.  std::floor() is a call on a build for
/// every x86-64 machine.
inline double day_number(double seconds) {
  const double days = seconds / 86400.0;
  const auto whole = static_cast<double>(static_cast<std::int64_t>(days));
  return whole > days ? whole - 1 : whole;
}

/// The number by which values of this type are ordered: dates by calendar day.
inline double rank(Type type, const Value& v) {
  return type == Type::Date ? day_number(v.number) : v.number;
}

inline Truth order(Op op, Type type, const Value& x, const Value& y) {
  if (const auto t = by_state(x, y)) return *t;
  if (type == Type::Quantity && !same_kind(x.aux, y.aux)) return Truth::Unknown;
  const int c = compare(rank(type, x), rank(type, y));
  if (op == Op::Less) return truth(c < 0);
  if (op == Op::LessEqual) return truth(c <= 0);
  if (op == Op::Greater) return truth(c > 0);
  return truth(c >= 0);
}

inline Truth equal(Type type, const Value& x, const Value& y) {
  if (const auto t = by_state(x, y)) return *t;
  if (type == Type::Word) {
    if (x.aux == kNoWord || y.aux == kNoWord) return Truth::Unknown;
    return truth(x.aux == y.aux);
  }
  if (type == Type::Text) return truth(same_text(x.text, y.text));
  if (type == Type::Quantity && !same_kind(x.aux, y.aux)) return Truth::Unknown;
  return truth(compare(rank(type, x), rank(type, y)) == 0);
}

inline bool is_multiple(double x, double step) {
  if (step == 0) return false;
  const double ratio = x / step;
  return std::fabs(ratio - std::round(ratio)) <= kTolerance * std::fmax(1.0, std::fabs(ratio));
}

/// x to a whole number of steps; a ratio within tolerance of a whole number is that number.
inline double round_to(Op op, double x, double step) {
  if (step == 0) return x;
  const double ratio = x / step;
  if (is_multiple(x, step)) return std::round(ratio) * step;
  if (op == Op::RoundUp) return std::ceil(ratio) * step;
  if (op == Op::RoundDown) return std::floor(ratio) * step;
  return std::floor(ratio + 0.5) * step;
}

/// The state of a result that needs both: none wins over missing.
inline State joint(const Value& x, const Value& y) {
  if (x.state == State::None || y.state == State::None) return State::None;
  return x.known() && y.known() ? State::Known : State::Missing;
}

Value arithmetic(Op op, const Value& x, const Value& y);
Value kind_of(const Value& x);
Truth contains(const Value& text, const Value& part);
Truth includes(const Value& band, const Value& x);
Truth site_in(const Program& program, const Value& site, const Value& region);
Value region_of(const Program& program, const Value& site);
double days_between(double from, double to);  // seconds, whole days
Value date_after(const Value& duration, const Value& date);
Truth differs(Op op, const Value& x, const Value& y, const Value& by);

}  // namespace meniscus::engine::primitives
