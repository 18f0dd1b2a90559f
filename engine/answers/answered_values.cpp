// Values into their one writing (contract: answered_values.hpp).
#include "engine/answers/answered_values.hpp"

#include <algorithm>
#include <vector>

#include "engine/eval/say.hpp"
#include "engine/quantity/quantity.hpp"
#include "engine/slips/value_text.hpp"

namespace meniscus::engine {
namespace {

constexpr int kDigits = 14;  // those behind are noise of the arithmetic (quantity/format.cpp)

std::string quantity_text(double number, Dimension dimension) {
  if (dimension.is_number()) return format_number(number, kDigits);
  const std::string_view unit = slips::measure(Value::quantity(number, dimension), {}).unit;
  return format_quantity_in({number, dimension}, unit, kDigits);
}

/// A part of an item: `dose=0.25 mg`.
std::string item_text(const ListItem& item, FieldKind kind) {
  if (kind == FieldKind::Words) return std::string(item.self.text);
  std::string text;
  for (std::size_t i = 0; i < kItemFieldCount; ++i) {
    const Value& part = item.parts.at(i);
    if (!part.known()) continue;
    const auto field = static_cast<ItemField>(i);
    const bool word =
        field == ItemField::Substance || field == ItemField::Site || field == ItemField::Side;
    if (!text.empty()) text += ' ';
    text.append(name(field)).append("=");
    text +=
        word ? std::string(part.text) : quantity_text(part.number, Dimension::from_bits(part.aux));
  }
  return text;
}

std::string list_text(const OrderBlock& block, const Value& list, FieldKind kind) {
  std::vector<std::string> parts;
  for (std::uint32_t i = 0; i < OrderBlock::item_count(list.aux); ++i)
    parts.push_back(item_text(block.items(list.aux)[i], kind));
  if (kind == FieldKind::Words) std::sort(parts.begin(), parts.end());
  std::string text;
  for (const std::string& part : parts)
    text.append(text.empty() ? "" : "; ").append(part);
  return text;
}

}  // namespace

std::optional<std::string> one_writing(const OrderBlock& block, unsigned lane, FieldId field) {
  const Value value = block.value(lane, field);
  if (!value.known()) return std::nullopt;
  const FieldKind kind = info(field).kind;
  if (is_list(kind)) return list_text(block, value, kind);
  const bool quantity = kind == FieldKind::Quantity || kind == FieldKind::Amount ||
                        kind == FieldKind::Strength || kind == FieldKind::AmountPerBodyMass ||
                        kind == FieldKind::Count;
  if (quantity) return quantity_text(value.number, Dimension::from_bits(value.aux));
  std::string text;
  slips::write_value(field, value, {}, {}, text);
  return text;
}

std::optional<std::string> one_writing(Scalar& scalar, NodeId id) {
  const Node& node = scalar.program().nodes[id];
  if (node.type == Type::Truth) {
    const Truth truth = scalar.truth(id);
    if (truth == Truth::Unknown) return std::nullopt;
    return truth == Truth::True ? "yes" : "no";
  }
  const Value value = scalar.value(id);
  if (!value.known()) return std::nullopt;
  if (node.type != Type::Quantity || node.percent) return show(scalar, node, value);
  return quantity_text(value.number,
                       value.aux == 0 ? node.dimension : Dimension::from_bits(value.aux));
}

}  // namespace meniscus::engine
