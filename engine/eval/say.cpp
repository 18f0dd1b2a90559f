// Values as people write them.
#include "engine/eval/say.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <numeric>

#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {
namespace {

std::string show_quantity(const Node& node, const Value& value) {
  if (node.percent) return format_number(value.number * 100, 3) + " %";
  const Dimension dimension = value.aux == 0 ? node.dimension : Dimension::from_bits(value.aux);
  return format_quantity({value.number, dimension});
}

std::string show_texts(const Scalar& scalar, const Node& node, const Value& value) {
  std::string out;
  const auto append = [&](std::string_view text) {
    if (!out.empty()) out += ", ";
    out += text;
  };
  if (node.op == Op::Field) {
    const ListItem* items = scalar.facts().block->items(value.aux);
    for (std::uint32_t i = 0; i < OrderBlock::item_count(value.aux); ++i) {
      append(items[i].self.text);
    }
    return out;
  }
  for (const std::string_view text : scalar.texts(value))
    append(text);
  return out;
}

std::string show_band(const Value& value) {
  const double end = band_end(value);
  const std::string from = format_quantity({value.number, dim::kTime});
  return std::isinf(end) ? from + " or more" : from + " to " + format_quantity({end, dim::kTime});
}

}  // namespace

std::string show(const Scalar& scalar, const Node& node, const Value& value) {
  if (value.state == State::None) return "none";
  if (value.state == State::Any) return "any";
  if (value.state == State::Missing) return "(not stated)";
  switch (node.type) {
    case Type::Quantity:
      return show_quantity(node, value);
    case Type::Gauge:
      return format_number(value.number) + " G";
    case Type::Date:
      return format_date(unpack(value.number, value.aux));
    case Type::Texts:
      return show_texts(scalar, node, value);
    case Type::Band:
      return show_band(value);
    case Type::YesNo:
      return value.number != 0 ? "yes" : "no";
    case Type::Items:
      return std::to_string(OrderBlock::item_count(value.aux)) + " parts";
    case Type::Word:
    case Type::Text:
    case Type::Truth:
    case Type::Record:
      break;
  }
  return std::string(value.text);
}

std::string_view ShownNumbers::of(const Scalar& scalar, const Node& node, const Value& value) {
  const auto number = std::bit_cast<std::uint64_t>(value.number);
  const std::uint64_t aux =
      node.type == Type::Quantity && value.aux == 0 ? node.dimension.bits() : value.aux;
  const std::uint64_t kind =
      1 + static_cast<std::uint64_t>(node.type) * 2 + static_cast<std::uint64_t>(node.percent);
  const std::uint64_t hash = (number ^ aux * 31 ^ kind << 20U) * 0x9E3779B97F4A7C15U;
  Shown& shown = shown_.at((hash >> 32U) % kShown);
  if (shown.number != number || shown.aux != aux || shown.kind != kind)
    shown = {number, aux, kind, show(scalar, node, value)};
  return shown.text;
}

namespace {

bool is_number(Type type) {
  return type == Type::Quantity || type == Type::Gauge || type == Type::Date;
}

/// The unit of a length as it is written, `in` of `5/8 in`: other lengths of the sentence are said
/// in it, so that they compare.
std::string_view length_unit(const Node& node, std::string_view written) {
  if (node.dimension != dim::kLength) return {};
  const std::size_t at = written.find_last_of(' ');
  const std::string_view unit = at == std::string_view::npos ? written : written.substr(at + 1);
  const auto known = parse_unit(unit, UnitSet::Order);
  return known && known->dimension == dim::kLength ? unit : std::string_view{};
}

/// A length in `unit`; in inches as a fraction, as needles are sold, and in millimetres where it is
/// none (8 mm are 0.315 in).
std::string length_in(double length, std::string_view unit) {
  const AnyQuantity quantity{length, dim::kLength};
  const auto inch = parse_unit("in", UnitSet::Order);
  const auto known = parse_unit(unit, UnitSet::Order);
  if (!known || !inch || known->factor != inch->factor) return format_quantity_in(quantity, unit);
  const double sixteenths = length / inch->factor * 16;
  auto parts = static_cast<int>(std::lround(std::clamp(sixteenths, 0.0, 1600.0)));
  if (std::fabs(sixteenths - parts) > 1e-6) return format_quantity_in(quantity, "mm");
  const int whole = parts / 16;
  parts %= 16;
  std::string text = whole > 0 || parts == 0 ? std::to_string(whole) : std::string{};
  if (parts != 0) {
    const int shared = std::gcd(parts, 16);
    if (!text.empty()) text += ' ';
    text += std::to_string(parts / shared) + "/" + std::to_string(16 / shared);
  }
  return text.append(" ").append(unit);
}

/// A quantity as the order has it, where the piece is a field alone; empty: it is to be shown.
std::string_view written_of(const Scalar& scalar, const Template::Piece& piece,
                            const Value& value) {
  const Node& node = scalar.program().nodes[piece.node];
  if (!piece.field || !value.known() || node.type != Type::Quantity) return {};
  const std::string_view written = scalar.facts().block->written(scalar.facts().lane, *piece.field);
  return !written.empty() && written.front() == '{' ? std::string_view{} : written;
}

bool is_length(const Node& node, const Value& value) {
  return value.known() && node.type == Type::Quantity && node.dimension == dim::kLength &&
         !node.percent;
}

}  // namespace

void say(Scalar& scalar, const Template& text, const SayHelp& help, std::string& out) {
  std::string_view lengths_in;
  for (const Template::Piece& piece : text.pieces) {
    if (piece.node == kNoNode) {
      out += piece.text;
      continue;
    }
    const Node& node = scalar.program().nodes[piece.node];
    const unsigned lane = scalar.facts().lane;
    const Value value =
        help.columns == nullptr ? scalar.value(piece.node) : help.columns->shown(piece.node, lane);
    if (const std::string_view written = written_of(scalar, piece, value); !written.empty()) {
      out += written;
      if (lengths_in.empty()) lengths_in = length_unit(node, written);
    } else if (!lengths_in.empty() && is_length(node, value)) {
      out += length_in(value.number, lengths_in);
    } else if (help.numbers != nullptr && value.known() && is_number(node.type)) {
      out += help.numbers->of(scalar, node, value);
    } else {
      out += show(scalar, node, value);
    }
  }
}

}  // namespace meniscus::engine
