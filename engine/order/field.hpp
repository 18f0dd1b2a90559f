// Names and kinds of the order's fields, made from the one table (fields.def).
#pragma once

#include <array>
#include <bitset>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "engine/quantity/dimension.hpp"

namespace meniscus::engine {

enum class FieldId : std::uint8_t {
#define FIELD(id, name, kind, detail, meaning) id,
#include "engine/order/fields.def"
#undef FIELD
};
inline constexpr std::size_t kFieldCount = [] {
  std::size_t n = 0;
#define FIELD(id, name, kind, detail, meaning) ++n;
#include "engine/order/fields.def"
#undef FIELD
  return n;
}();
static_assert(kFieldCount < 128, "FieldSet and the packed origins allow 127 fields");

enum class FieldKind : std::uint8_t {
  Id,        // text that names something; compared letter for letter (a word as `hash` of the text)
  Code,      // a word; one that no table knows stays a code of its own
  Word,      // a word of a closed vocabulary; one that no row knows compares as unknown
  Text,      // free text
  Quantity,  // a number of one dimension (third column)
  Amount,    // mass, biological units, volume, or substance amount: known only from the order
  Strength,  // an Amount per volume
  AmountPerBodyMass,
  Count,  // a whole number, zero or more
  Gauge,
  Date,
  MonthEnd,  // a Date that, given as a month, means its last day
  YesNo,
  Words,       // list of words of a vocabulary
  Components,  // list: substance, dose, strength, volume
  Steps,       // list: dose, volume, every, lasts
  Sites        // list: site, side
};

/// Values of several items.
constexpr bool is_list(FieldKind kind) {
  return kind == FieldKind::Words || kind == FieldKind::Components || kind == FieldKind::Steps ||
         kind == FieldKind::Sites;
}

struct FieldInfo {
  FieldId id;
  std::string_view name;
  FieldKind kind;
  Dimension dimension;          // Quantity, Count (number)
  std::string_view vocabulary;  // Word, Words, Code with a table
  std::string_view meaning;
};

/// All fields in the order of the table.
std::span<const FieldInfo, kFieldCount> fields();
const FieldInfo& info(FieldId field);
/// By dotted name; nothing when there is no such field.
std::optional<FieldId> field_named(std::string_view name);

using FieldSet = std::bitset<128>;
inline std::size_t index(FieldId field) { return static_cast<std::size_t>(field); }

/// The parts of a list's item (`each.volume`).  One struct serves components, steps and sites.
enum class ItemField : std::uint8_t { Substance, Dose, Strength, Volume, Every, Lasts, Site, Side };
inline constexpr std::size_t kItemFieldCount = 8;
std::string_view name(ItemField field);
std::optional<ItemField> item_field_named(std::string_view name);

}  // namespace meniscus::engine
