// Kinds of columns, and reading their cells.
#include "grammar/lower/table_kind.hpp"

#include <array>
#include <limits>
#include <utility>

#include "engine/base/ascii.hpp"
#include "engine/quantity/quantity.hpp"
#include "grammar/check/report.hpp"
#include "grammar/check/suggest.hpp"
#include "grammar/lower/literals.hpp"

namespace meniscus::grammar {
namespace {

using engine::ascii::trimmed;

using engine::Dimension;
using engine::Errc;
using engine::Error;
using engine::Result;
using engine::Type;
using engine::Value;
namespace dim = engine::dim;

constexpr std::array<std::pair<std::string_view, Dimension>, 15> kDimensions = {{
    {"number", dim::kNumber},
    {"mass", dim::kMass},
    {"volume", dim::kVolume},
    {"time", dim::kTime},
    {"length", dim::kLength},
    {"body mass", dim::kBodyMass},
    {"biological units", dim::kBiological},
    {"viscosity", dim::kViscosity},
    {"volume per mark", dim::kVolumePerMark},
    {"mass per volume", dim::kMassPerVolume},
    {"force", dim::kForce},
    {"pressure", dim::kPressure},
    {"area", dim::kArea},
    {"temperature", dim::kTemperature},
    {"marks", dim::kMark},
}};

constexpr std::array<std::pair<std::string_view, Type>, 5> kPlainKinds = {{
    {"text", Type::Text},
    {"yes/no", Type::YesNo},
    {"gauge", Type::Gauge},
    {"date", Type::Date},
    {"word", Type::Word},
}};

Error error(Errc code, std::string message, std::string_view text) {
  return {code, std::move(message), 0, static_cast<std::uint32_t>(text.size())};
}

Error missing_unit(const ColumnKind& kind, std::string_view text) {
  std::string message =
      quoted(text) + " has no unit; a " + kind.dimensions.describe() + " is needed";
  return error(Errc::MissingUnit, std::move(message), text);
}

Result<Value> read_quantity_cell(const ColumnKind& kind, std::string_view text) {
  const bool number_only = kind.dimensions == DimensionSet();
  const auto number = engine::parse_number(text, engine::DecimalMark::Point, true);
  if (number) {
    if (!number_only && kind.factor == 0) return missing_unit(kind, text);
    const double factor = number_only ? 1 : kind.factor;
    Value value = Value::quantity(*number * factor, kind.dimensions.front());
    value.text = text;
    return value;
  }
  if (number_only && text.ends_with('%')) {
    return read_quantity_literal(text).and_then(
        [](const Literal& literal) -> Result<Value> { return literal.value; });
  }
  engine::QuantityStyle style;
  style.body_mass = kind.dimensions.contains(dim::kBodyMass);
  const auto quantity =
      kind.strength ? engine::parse_strength(text, style) : engine::parse_quantity(text, style);
  if (!quantity) return quantity.error();
  if (!kind.dimensions.contains(quantity->dimension)) {
    return error(Errc::DimensionMismatch,
                 quoted(text) + " is a " + engine::describe(quantity->dimension) + "; a " +
                     kind.dimensions.describe() + " is needed",
                 text);
  }
  Value value = Value::quantity(quantity->value, quantity->dimension);
  value.text = text;
  return value;
}

Result<double> read_band_end(const ColumnKind& kind, std::string_view text, double open) {
  if (text == "any") return open;
  const auto value = read_quantity_cell(kind, text);
  if (!value) return value.error();
  return value->number;
}

Result<Value> read_band_cell(const ColumnKind& kind, std::string_view text) {
  const std::size_t to = text.find(" to ");
  if (to == std::string_view::npos) {
    return error(Errc::Syntax,
                 quoted(text) + " is no range; `A to B` is needed, `any` for an open end", text);
  }
  constexpr double kOpen = std::numeric_limits<double>::infinity();
  const auto from = read_band_end(kind, trimmed(text.substr(0, to)), -kOpen);
  if (!from) return from.error();
  const auto end = read_band_end(kind, trimmed(text.substr(to + 4)), kOpen);
  if (!end) return end.error();
  if (*from >= *end) {
    return error(Errc::OutOfRange,
                 "the range " + quoted(text) + " holds nothing; its end is excluded", text);
  }
  Value band = engine::make_band(*from, *end, kind.dimensions.front());
  band.text = text;
  return band;
}

Result<Value> read_yes_no_cell(std::string_view text) {
  if (text == "yes" || text == "no") return Value::yes_no(text == "yes");
  return error(Errc::UnknownWord, quoted(text) + " stands where `yes` or `no` is needed", text);
}

}  // namespace

std::optional<ColumnKind> column_kind(std::string_view kind) {
  for (const auto& [name, type] : kPlainKinds) {
    if (name == kind) return ColumnKind{type, {}, 0, false};
  }
  if (kind == "amount") return ColumnKind{Type::Quantity, DimensionSet::amount(), 0, false};
  if (kind == "strength") return ColumnKind{Type::Quantity, DimensionSet::strength(), 0, true};
  constexpr std::string_view kBand = " band";
  const bool band = kind.ends_with(kBand);
  const std::string_view measured = band ? kind.substr(0, kind.size() - kBand.size()) : kind;
  for (const auto& [name, dimension] : kDimensions) {
    if (name == measured)
      return ColumnKind{band ? Type::Band : Type::Quantity, dimension, 0, false};
  }
  const auto unit = engine::parse_unit(measured, engine::UnitSet::Order);
  if (!unit || unit->offset != 0) return std::nullopt;
  return ColumnKind{band ? Type::Band : Type::Quantity, unit->dimension, unit->factor, false};
}

std::string kind_help(std::string_view text) {
  Nearest nearest(text);
  for (const auto& [name, type] : kPlainKinds)
    nearest.offer(name);
  for (const auto& [name, dimension] : kDimensions)
    nearest.offer(name);
  for (const std::string_view name : {"amount", "strength", "time band", "body mass band"}) {
    nearest.offer(name);
  }
  return nearest.help(
      "write a unit, or one of text, amount, strength, time, volume, length, "
      "body mass, number, yes/no, gauge, time band");
}

Result<Value> read_cell(const ColumnKind& kind, std::string_view text) {
  if (text.empty()) return Value::none();
  if (text == "any" && kind.type != Type::Text) return Value::any();
  switch (kind.type) {
    case Type::Text:
      return Value{0, 0, text, engine::State::Known};
    case Type::Word:
      return Value::word(engine::word_hash(text), text);
    case Type::YesNo:
      return read_yes_no_cell(text);
    case Type::Gauge: {
      const auto gauge = engine::parse_gauge(text);
      if (!gauge) return gauge.error();
      return Value{*gauge, 0, text, engine::State::Known};
    }
    case Type::Date:
      return read_date_literal(text).and_then(
          [](const Literal& literal) -> Result<Value> { return literal.value; });
    case Type::Quantity:
      return read_quantity_cell(kind, text);
    case Type::Band:
      return read_band_cell(kind, text);
    case Type::Truth:
    case Type::Texts:
    case Type::Items:
    case Type::Record:
      break;
  }
  return error(Errc::Internal, "a column cannot hold this", text);
}

}  // namespace meniscus::grammar
