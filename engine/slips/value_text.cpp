// Values into text (contract: value_text.hpp).
#include "engine/slips/value_text.hpp"

#include <array>

#include "engine/quantity/calendar.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::engine::slips {
namespace {

constexpr int kDigits = 9;

struct Usual {
  Dimension dimension;
  std::string_view unit;
  double factor;
};
constexpr std::array<Usual, 10> kUsual = {{{dim::kMass, "mg", 1},
                                           {dim::kVolume, "mL", 1000},
                                           {dim::kBiological, "units", 1},
                                           {dim::kMassPerVolume, "mg/mL", 1.0 / 1000},
                                           {dim::kBiologicalPerVolume, "units/mL", 1.0 / 1000},
                                           {dim::kBodyMass, "kg", 1e6},
                                           {dim::kLength, "mm", 1},
                                           {dim::kTime, "days", 86400},
                                           {dim::kMark, "marks", 1},
                                           {dim::kMass / dim::kBodyMass, "mg/kg", 1e-6}}};

bool letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '%'; }
bool digit(char c) { return c >= '0' && c <= '9'; }

/// What stands behind the number; empty where the text does not begin with one.
std::string_view unit_text(std::string_view written) {
  if (written.empty() || !(digit(written.front()) || written.front() == '.')) return {};
  std::size_t at = 0;
  while (at < written.size() && !letter(written[at]))
    ++at;
  std::string_view unit = written.substr(at);
  while (!unit.empty() && unit.back() == ' ')
    unit.remove_suffix(1);
  return unit;
}

void write_quantity(const Value& value, std::string_view like, std::string_view unit,
                    std::string& out) {
  const Dimension dimension = Dimension::from_bits(value.aux);
  if (dimension.is_number() || value.aux == 0) {
    out = format_number(value.number, kDigits);
    return;
  }
  if (unit.empty()) unit = measure(value, like).unit;
  out = format_quantity_in({value.number, dimension}, unit, kDigits);
}

bool is_quantity(FieldKind kind) {
  return kind == FieldKind::Quantity || kind == FieldKind::Amount || kind == FieldKind::Strength ||
         kind == FieldKind::AmountPerBodyMass || kind == FieldKind::Count;
}

/// The text alone is this quantity: its unit stands with it.
bool says_by_itself(FieldId field, const Value& value, std::string_view written) {
  QuantityStyle style;
  style.body_mass = info(field).dimension == dim::kBodyMass;
  const auto read = info(field).kind == FieldKind::Strength ? parse_strength(written, style)
                                                            : parse_quantity(written, style);
  return read && read->dimension.bits() == value.aux && compare(read->value, value.number) == 0;
}

}  // namespace

Measure measure(const Value& quantity, std::string_view written) {
  const Dimension dimension = Dimension::from_bits(quantity.aux);
  if (const std::string_view text = unit_text(written); !text.empty()) {
    const Result<Unit> unit = parse_unit(text, UnitSet::Order);
    const bool body = unit && dimension == dim::kBodyMass && unit->dimension == dim::kMass;
    if (unit && unit->offset == 0 && (unit->dimension == dimension || body)) {
      return {quantity.number / unit->factor, unit->factor, text};
    }
  }
  for (const Usual& usual : kUsual) {
    if (usual.dimension == dimension)
      return {quantity.number / usual.factor, usual.factor, usual.unit};
  }
  return {quantity.number, 1, {}};
}

void write_value(FieldId field, const Value& value, std::string_view like, std::string_view unit,
                 std::string& out) {
  switch (info(field).kind) {
    case FieldKind::Quantity:
    case FieldKind::Amount:
    case FieldKind::Strength:
    case FieldKind::AmountPerBodyMass:
    case FieldKind::Count:
      return write_quantity(value, like, unit, out);
    case FieldKind::Gauge:
      out = format_number(value.number);
      out += " G";
      return;
    case FieldKind::Date:
    case FieldKind::MonthEnd:
      out = format_date(unpack(value.number, value.aux));
      return;
    case FieldKind::YesNo:
      out = value.number != 0 ? "yes" : "no";
      return;
    case FieldKind::Id:
    case FieldKind::Code:
    case FieldKind::Word:
    case FieldKind::Text:
    case FieldKind::Words:
    case FieldKind::Components:
    case FieldKind::Steps:
    case FieldKind::Sites:
      out = value.text;
      return;
  }
}

void write_plainly(const OrderBlock& block, unsigned lane, FieldId field, std::string& out) {
  const Value value = block.value(lane, field);
  const std::string_view written = block.written(lane, field);
  const FieldKind kind = info(field).kind;
  if (kind == FieldKind::Word || kind == FieldKind::Code || kind == FieldKind::YesNo) {
    out = value.text;
  } else if (is_quantity(kind) && !block.from_text(lane, field) &&
             says_by_itself(field, value, written)) {
    out = written;
  } else {
    write_value(field, value, written, {}, out);
  }
}

}  // namespace meniscus::engine::slips
