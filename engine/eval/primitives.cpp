// Operations that are too long to inline.
#include "engine/eval/primitives.hpp"

#include "engine/eval/text_search.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::engine::primitives {
Truth contains(const Value& text, const Value& part) {
  if (const auto t = by_state(text, part)) return *t;
  return truth(has_words(text.text, part.text));
}

Value arithmetic(Op op, const Value& x, const Value& y) {
  const State state = joint(x, y);
  if (state != State::Known) return {0, 0, {}, state};
  const Dimension a = Dimension::from_bits(x.aux);
  const Dimension b = Dimension::from_bits(y.aux);
  if (op == Op::Multiply) return Value::quantity(x.number * y.number, a * b);
  if (op == Op::Divide) {
    return y.number == 0 ? Value::missing() : Value::quantity(x.number / y.number, a / b);
  }
  if (!same_kind(x.aux, y.aux)) return Value::missing();
  const Dimension kind = x.aux == kZeroOfAnyKind ? b : a;
  if (op == Op::Add) return Value::quantity(x.number + y.number, kind);
  if (op == Op::Subtract) return Value::quantity(subtract(x.number, y.number), kind);
  return Value::quantity(round_to(op, x.number, y.number), kind);
}

Value kind_of(const Value& x) {
  static const Word kMass = word_hash("by-mass");
  static const Word kUnits = word_hash("by-units");
  static const Word kVolume = word_hash("by-volume");
  if (!x.known()) return {0, 0, {}, x.state};
  const Dimension d = Dimension::from_bits(x.aux);
  if (d == dim::kVolume) return Value::word(kVolume, "by-volume");
  if (d == dim::kBiological) return Value::word(kUnits, "by-units");
  if (d == dim::kMass || d == dim::kAmountOfSubstance) return Value::word(kMass, "by-mass");
  return Value::missing();
}

Truth includes(const Value& band, const Value& x) {
  if (const auto t = by_state(band, x)) return *t;
  const double end = band_end(band);  // an open end is infinite, where compare() has no tolerance
  const bool above = std::isinf(band.number) || compare(x.number, band.number) >= 0;
  return truth(above && (std::isinf(end) || compare(x.number, end) < 0));
}

Truth site_in(const Program& program, const Value& site, const Value& region) {
  if (const auto t = by_state(site, region)) return *t;
  if (site.aux == kNoWord || region.aux == kNoWord) return Truth::Unknown;
  Word at = site.aux;
  for (int depth = 0; depth < 16; ++depth) {
    if (at == region.aux) return Truth::True;
    const auto parent = program.site_parent.find(at);
    if (parent == program.site_parent.end()) return Truth::False;
    at = parent->second;
  }
  return Truth::False;
}

Value region_of(const Program& program, const Value& site) {
  if (!site.known() || site.aux == kNoWord) {
    return site.known() ? Value::word(kNoWord, site.text) : site;
  }
  const auto at = program.site_region.find(site.aux);
  if (at == program.site_region.end()) return site;
  return Value::word(at->second.first, at->second.second);
}

double days_between(double from, double to) {
  return (day_number(to) - day_number(from)) * 86400.0;
}

Value date_after(const Value& duration, const Value& date) {
  const State state = joint(duration, date);
  if (state != State::Known) return {0, 0, {}, state};
  return Value::date(add(unpack(date.number, date.aux), duration_from_seconds(duration.number)));
}

Truth differs(Op op, const Value& x, const Value& y, const Value& by) {
  if (const auto t = by_state(x, y)) return *t;
  if (const auto t = by_state(by, by)) return *t;
  if (!same_kind(x.aux, y.aux)) return Truth::Unknown;
  const double limit = op == Op::DiffersByShare ? by.number * std::fabs(y.number) : by.number;
  return truth(compare(std::fabs(x.number - y.number), limit) > 0);
}

}  // namespace meniscus::engine::primitives
