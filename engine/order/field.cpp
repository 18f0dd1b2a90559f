// The table of fields as data, and its look-ups by name (contract: field.hpp).
#include "engine/order/field.hpp"

namespace meniscus::engine {
namespace {

constexpr bool is_vocabulary(FieldKind kind) {
  return kind == FieldKind::Word || kind == FieldKind::Words || kind == FieldKind::Code;
}

/// The dimension that the table's third column names; only Quantity fields have one.
constexpr Dimension dimension_named(FieldKind kind, std::string_view detail) {
  if (kind != FieldKind::Quantity) return dim::kNumber;
  if (detail == "mass") return dim::kMass;
  if (detail == "volume") return dim::kVolume;
  if (detail == "time") return dim::kTime;
  if (detail == "length") return dim::kLength;
  if (detail == "body mass") return dim::kBodyMass;
  if (detail == "mark") return dim::kMark;
  if (detail == "temperature") return dim::kTemperature;
  return dim::kNumber;
}

constexpr FieldInfo row(FieldId id, std::string_view name, FieldKind kind, std::string_view detail,
                        std::string_view meaning) {
  return {id,
          name,
          kind,
          dimension_named(kind, detail),
          is_vocabulary(kind) ? detail : std::string_view{},
          meaning};
}

constexpr std::array<FieldInfo, kFieldCount> kFields = {{
#define FIELD(id, name, kind, detail, meaning) \
  row(FieldId::id, name, FieldKind::kind, detail, meaning),
#include "engine/order/fields.def"
#undef FIELD
}};

static_assert(
    [] {
      for (const FieldInfo& field : kFields)
        if (field.kind == FieldKind::Quantity && field.dimension.is_number()) return false;
      return true;
    }(),
    "a Quantity field names a dimension that dimension_named() does not know");

constexpr std::size_t kSlots = 512;  // several times the fields, so that most look-ups probe once

constexpr std::size_t slot_of(std::string_view name) {
  std::uint32_t hash = 2166136261U;
  for (const char c : name)
    hash = (hash ^ static_cast<unsigned char>(c)) * 16777619U;
  return (hash ^ hash >> 15) % kSlots;
}

constexpr std::uint8_t kEmpty = 255;
constexpr std::array<std::uint8_t, kSlots> kByName = [] {
  std::array<std::uint8_t, kSlots> slots{};
  for (std::uint8_t& slot : slots)
    slot = kEmpty;
  for (std::size_t i = 0; i < kFieldCount; ++i) {
    std::size_t at = slot_of(kFields[i].name);
    while (slots[at] != kEmpty)
      at = (at + 1) % kSlots;
    slots[at] = static_cast<std::uint8_t>(i);
  }
  return slots;
}();

constexpr std::array<std::string_view, kItemFieldCount> kItemNames = {
    "substance", "dose", "strength", "volume", "every", "lasts", "site", "side"};

}  // namespace

std::span<const FieldInfo, kFieldCount> fields() { return kFields; }

const FieldInfo& info(FieldId field) { return kFields[index(field)]; }

std::optional<FieldId> field_named(std::string_view name) {
  for (std::size_t at = slot_of(name); kByName[at] != kEmpty; at = (at + 1) % kSlots)
    if (kFields[kByName[at]].name == name) return kFields[kByName[at]].id;
  return std::nullopt;
}

std::string_view name(ItemField field) { return kItemNames[static_cast<std::size_t>(field)]; }

std::optional<ItemField> item_field_named(std::string_view name) {
  for (std::size_t i = 0; i < kItemFieldCount; ++i)
    if (kItemNames[i] == name) return static_cast<ItemField>(i);
  return std::nullopt;
}

}  // namespace meniscus::engine
