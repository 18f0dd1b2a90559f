// List fields from text: allergies, components, steps, sites (contract: field_text.hpp).
#include <optional>
#include <string>
#include <vector>

#include "engine/order/value_text.hpp"

namespace meniscus::engine {
namespace {

/// Cuts the part up to the next `;` off `rest`.
std::string_view next_part(std::string_view& rest) {
  const std::size_t end = rest.find(';');
  const std::string_view part = rest.substr(0, end);
  rest.remove_prefix(end == std::string_view::npos ? rest.size() : end + 1);
  return trimmed(part);
}

/// Where the next `name=` starts at or after `from`, if there is one.
struct Key {
  std::size_t start = 0;
  std::size_t value = 0;
  std::string_view name;
};
std::optional<Key> next_key(std::string_view text, std::size_t from) {
  const std::size_t equals = text.find('=', from);
  if (equals == std::string_view::npos) return std::nullopt;
  std::size_t end = equals;
  while (end > from && text[end - 1] == ' ')
    --end;
  std::size_t start = end;
  while (start > from && text[start - 1] != ' ')
    --start;
  return Key{start, equals + 1, text.substr(start, end - start)};
}

/// `dose=50 mg every=1 wk` into the parts of one item.  False, with `reason`.
bool read_parts(const ReadContext& context, OrderBlock& block, ListItem& item,
                std::string_view text, std::string& reason) {
  auto key = next_key(text, 0);
  if (!key || key->start != 0) {
    reason = "`" + std::string(text) + "` is not of the shape part=value";
    return false;
  }
  while (key) {
    const auto part = item_field_named(key->name);
    if (!part) {
      reason = "`" + std::string(key->name) + "` is no part of a list's item";
      return false;
    }
    const auto following = next_key(text, key->value);
    const std::size_t end = following ? following->start : text.size();
    const std::string_view value = text.substr(key->value, end - key->value);
    if (!set_item_part(context, block, item, *part, value, reason)) return false;
    key = following;
  }
  return true;
}

}  // namespace

bool set_item_part(const ReadContext& context, OrderBlock& /*block*/, ListItem& item,
                   ItemField part, std::string_view text, std::string& reason) {
  text = trimmed(text);
  if (text.empty()) return true;
  const Result<Value> value = read_value(context, field_of(part), text);
  if (!value) {
    reason = value.error().message;
    return false;
  }
  item.parts[static_cast<std::size_t>(part)] = *value;
  return true;
}

Value read_list_word(const ReadContext& context, FieldId field, std::string_view text) {
  return read_word(context, field, trimmed(text));
}

void set_items(OrderBlock& block, unsigned lane, FieldId field, const std::vector<ListItem>& items,
               std::string_view written, Origin origin) {
  Value value = Value::none();
  if (!items.empty()) {
    value.state = State::Known;
    value.aux = block.add_items(items);
  }
  block.set(lane, field, value, written, origin);
}

void set_list(const ReadContext& context, OrderBlock& block, unsigned lane, FieldId field,
              std::string_view text, Origin origin) {
  std::vector<ListItem> items;
  std::string_view rest = text;
  while (!rest.empty()) {
    const std::string_view part = next_part(rest);
    if (part.empty()) continue;
    ListItem& item = items.emplace_back();
    item.written = part;
    item.origin = {origin.offset + static_cast<std::uint32_t>(part.data() - text.data()),
                   static_cast<std::uint32_t>(part.size())};
    if (info(field).kind == FieldKind::Words) {
      item.self = read_word(context, field, part);
      continue;
    }
    std::string reason;
    if (read_parts(context, block, item, part, reason)) continue;
    block.doubt(lane, field, std::move(reason), part, item.origin);
    return;
  }
  set_items(block, lane, field, items, text, origin);
}

}  // namespace meniscus::engine
