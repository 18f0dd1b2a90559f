// Walking an object with simdjson (contract: order_json.hpp), where it is not of the plain shape.
//
// simdjson 3, "on demand": its first pass checks UTF-8 and finds the structure at several bytes a
// nanosecond; values are then cut out by that structure without looking at them again.
#include "adapters/json/order_json.hpp"

#include <simdjson.h>

#include <cstring>
#include <optional>
#include <string>
#include <vector>

#include "adapters/json/json_keys.hpp"
#include "adapters/json/json_target.hpp"
#include "adapters/json/plain_object.hpp"
#include "adapters/support/chunk_buffer.hpp"
#include "adapters/support/json_scan.hpp"
#include "engine/order/said_none.hpp"

namespace meniscus::adapters {
namespace {

namespace od = simdjson::ondemand;
using engine::FieldId;
using engine::FieldKind;
using engine::ItemField;
using engine::ListItem;
using engine::Origin;
using engine::Value;

static_assert(ChunkBuffer::kPadding >= simdjson::SIMDJSON_PADDING);

std::string_view token_of(od::value& value) {
  std::string_view token = value.raw_json_token();
  while (!token.empty() && (token.back() == ' ' || token.back() == '\n' || token.back() == '\r' ||
                            token.back() == '\t'))
    token.remove_suffix(1);
  return token;
}

/// False for what simdjson takes for a value and is none: it then loses count of the braces, and
/// with one too many behind the record would read it without what follows.
///   "volume": "1 mL": "2 mL"    a text, taken for one more key
///   "volume": }                 a brace, taken for the value
bool is_value(od::value& value) {
  const std::string_view token = value.raw_json_token();  // up to where the next one begins
  if (token.empty() || std::string_view("}],:").find(token.front()) != std::string_view::npos)
    return false;
  return token.front() != '"' || token.data()[token.size()] != ':';
}

std::string_view type_name(char first) {
  switch (first) {
    case '{':
      return "an object";
    case '[':
      return "a list";
    case '"':
      return "text";
    case 't':
    case 'f':
      return "true or false";
    case 'n':
      return "null";
    default:
      return "a number";
  }
}

}  // namespace

/// One record being read.
struct OrderJson::State : JsonTarget {
  explicit State(const engine::ReadContext& feed_context) : JsonTarget(feed_context) {}

  PlainObject plain;
  od::parser parser;
  std::string reason;
  bool failed = false;

  /// The text of a string token, escapes undone.  Nothing when an escape is malformed.
  [[nodiscard]] std::optional<std::string_view> text_of(std::string_view token) const {
    const std::string_view content = token.substr(1, token.size() - 2);
    if (std::memchr(content.data(), '\\', content.size()) == nullptr) return content;
    const auto plain = unescaped(content);
    if (!plain) return std::nullopt;
    return block->keep(*plain);
  }

  // ---- objects and keys

  void object(od::object fields, std::uint8_t group) {
    for (auto next : fields) {
      od::field field;
      if (std::move(next).get(field) != simdjson::SUCCESS) {
        failed = true;
        return;
      }
      if (!is_value(field.value())) {
        failed = true;
        return;
      }
      std::size_t length = 0;
      const char* raw = field.key().raw();
      JsonKey key = guess.find(group, raw, length);
      if (length == 0) {
        while (raw[length] != '"')
          length += raw[length] == '\\' ? 2 : 1;
        key = guess.look_up(group, {raw, length});
      }
      switch (key.kind) {
        case JsonKey::Kind::Field:
          member(static_cast<FieldId>(key.id), field.value());
          break;
        case JsonKey::Kind::Group:
          sub_object(key.id, field.value());
          break;
        case JsonKey::Kind::Unknown:
          unknown_key(group, {raw, length});
          break;
      }
      if (failed) return;
    }
  }

  void sub_object(std::uint8_t group, od::value& value) {
    const std::string_view token = token_of(value);
    group_stands_at(group, token.data());
    const FieldId first = JsonKeys::instance().fields_of(group).front();
    if (token.front() == '{') {
      od::object fields;
      if (value.get_object().get(fields) != simdjson::SUCCESS)
        failed = true;
      else
        object(fields, group);
    } else if (token == "null") {
      no_group(group, token);
    } else {
      doubt(first,
            std::string(type_name(token.front())) + " where the object `" +
                std::string(JsonKeys::instance().group_name(group)) + "` is needed",
            first_line(token));
    }
  }

  /// A key that no field has is said, so that a slip of the pen never drops a dose in silence.
  void unknown_key(std::uint8_t group, std::string_view key) {
    if (key.starts_with("_") || key.starts_with("x-") ||
        context.feed->ignored.find(key) != context.feed->ignored.end())
      return;
    const JsonKeys& keys = JsonKeys::instance();
    const std::string_view near = keys.near(group, key);
    std::string why = "the key `" + std::string(key) + "` is no field";
    if (near.empty()) {
      // No field to blame: said beside the order's number, which stays as it is.
      const Value id = block->value(lane, FieldId::OrderId);
      const std::string_view written = block->written(lane, FieldId::OrderId);
      const Origin origin = block->origin(lane, FieldId::OrderId);
      const bool had_id = seen.test(engine::index(FieldId::OrderId));
      doubt(FieldId::OrderId, std::move(why), key);
      if (had_id) block->set(lane, FieldId::OrderId, id, written, origin);
      return;
    }
    why += "; is `" + std::string(near) + "` meant?";
    const JsonKey meant = keys.find(group, near);
    const FieldId field = meant.kind == JsonKey::Kind::Field ? static_cast<FieldId>(meant.id)
                                                             : keys.fields_of(meant.id).front();
    seen.set(engine::index(field));
    doubt(field, std::move(why), key);
  }

  // ---- one field

  static std::string_view first_line(std::string_view token) {
    return token.substr(0, token.find('\n'));
  }

  void member(FieldId field, od::value& value) {
    const std::string_view token = token_of(value);
    if (token.empty()) {
      failed = true;
      return;
    }
    if (seen.test(engine::index(field))) {
      doubt(field, "the key stands twice in one order", first_line(token));
      return;
    }
    seen.set(engine::index(field));
    if (token.front() == '"' && token.size() >= 2) {
      string(field, token);
      return;
    }
    other(field, token, value);
  }

  void string(FieldId field, std::string_view token) const {
    const std::string_view content = token.substr(1, token.size() - 2);
    if (std::memchr(content.data(), '\\', content.size()) != nullptr) {
      escaped_string(field, token);
      return;
    }
    engine::set_field(context, *block, lane, field, content, origin_of(content));
  }

  void escaped_string(FieldId field, std::string_view token) const {
    const std::string_view content = token.substr(1, token.size() - 2);
    const auto text = text_of(token);
    if (!text)
      doubt(field, "the text has an escape that JSON does not have", content);
    else if (text->find('\0') != std::string_view::npos)
      doubt(field, "the text has a NUL character", content);
    else
      engine::set_field(context, *block, lane, field, *text, origin_of(content));
  }

  void other(FieldId field, std::string_view token, od::value& value) {
    const FieldKind kind = engine::info(field).kind;
    if (token == "null") {
      block->set(lane, field, engine::said_none(field), token, origin_of(token));
    } else if (token.front() == '[') {
      list(field, kind, value, token);
    } else if (token.front() == '{') {
      quantity_object(field, kind, value, token);
    } else if (token == "true" || token == "false") {
      if (kind == FieldKind::YesNo)
        block->set(lane, field, Value::yes_no(token == "true"), token, origin_of(token));
      else
        wrong_type(field, token);
    } else if (json_problem(token)) {
      failed = true;  // no JSON value at all: the record is not JSON
    } else if (takes_number(kind)) {
      engine::set_field(numbers, *block, lane, field, token, origin_of(token));
    } else {
      wrong_type(field, token);
    }
  }

  void wrong_type(FieldId field, std::string_view token) const {
    const engine::FieldInfo& about = engine::info(field);
    std::string why(type_name(token.front()));
    why += " where ";
    if (engine::is_list(about.kind))
      why += "a list";
    else if (about.kind == FieldKind::YesNo)
      why += "true or false";
    else if (about.kind == FieldKind::Count)
      why += "a whole number";
    else
      why += "text in quotes";
    why += " is needed";
    doubt(field, std::move(why), first_line(token));
  }

  // ---- {"value": 50, "unit": "mg"}

  struct Parts {
    std::string_view number;
    std::string_view unit;
    bool is_text = false;  // the number stands in quotes: in the feed's own style
    std::string_view bad;  // a key that does not belong there
    std::string_view whole;
  };

  Parts parts_of(od::value& value) {
    Parts parts;
    od::object fields;
    if (value.get_object().get(fields) != simdjson::SUCCESS) {
      failed = true;
      return parts;
    }
    for (auto next : fields) {
      od::field field;
      if (std::move(next).get(field) != simdjson::SUCCESS) {
        failed = true;
        return parts;
      }
      failed = failed || !is_value(field.value());
      if (failed) return parts;
      part(field, parts);
    }
    return parts;
  }

  void part(od::field& field, Parts& parts) {
    const char* raw = field.key().raw();
    const std::string_view key(raw, std::strlen("value"));
    const std::string_view token = token_of(field.value());
    if (token.empty()) {
      failed = true;
      return;
    }
    const bool text = token.front() == '"' && token.size() >= 2;
    const std::string_view content = text ? text_of(token).value_or(token) : token;
    if (key == "value" && raw[key.size()] == '"' && token.front() != '{' && token.front() != '[') {
      parts.number = content;
      parts.is_text = text;
    } else if (key.substr(0, 4) == "unit" && raw[4] == '"' && text) {
      parts.unit = content;
    } else {
      parts.bad = {raw, static_cast<std::size_t>(std::strchr(raw, '"') - raw)};
    }
  }

  void quantity_object(FieldId field, FieldKind kind, od::value& value, std::string_view token) {
    if (!is_quantity(kind)) {
      wrong_type(field, token.substr(0, 1));
      return;
    }
    const Parts parts = parts_of(value);
    if (failed) return;
    if (!parts.bad.empty() || parts.number.empty()) {
      doubt(field, R"(an object that is not of the shape {"value": 50, "unit": "mg"})",
            parts.bad.empty() ? token.substr(0, 1) : parts.bad);
      return;
    }
    engine::set_quantity(parts.is_text ? context : numbers, *block, lane, field, parts.number,
                         parts.unit, origin_of(token.substr(0, 1)));
  }

  // ---- lists

  void list(FieldId field, FieldKind kind, od::value& value, std::string_view token) {
    const std::string_view start = token.substr(0, 1);
    const std::string_view rest = record.substr(origin_of(start).offset);
    const std::string_view whole = rest.substr(0, object_end(rest).size);
    od::array list;
    if (value.get_array().get(list) != simdjson::SUCCESS) {
      failed = true;
      return;
    }
    items.clear();
    reason.clear();
    std::string_view bad;
    for (auto next : list) {
      od::value item;
      // get() is for rvalues only.  NOLINTNEXTLINE(performance-move-const-arg)
      if (std::move(next).get(item) != simdjson::SUCCESS) {
        failed = true;
        return;
      }
      const std::string_view item_token = token_of(item);
      if (!list_item(field, kind, item, item_token) && bad.empty()) bad = first_line(item_token);
      if (failed) return;
    }
    if (!engine::is_list(kind) && !items.empty()) {
      wrong_type(field, start);
    } else if (!bad.empty()) {
      doubt(field, reason, bad);
    } else {
      set_list(field, whole);
    }
  }

  /// False, with `reason`, when the item cannot be read.
  bool list_item(FieldId field, FieldKind kind, od::value& value, std::string_view token) {
    const bool text = token.size() >= 2 && token.front() == '"';
    if (kind == FieldKind::Words && text) {
      const auto content = text_of(token);
      if (content)
        list_word(field, *content, token);
      else
        reason = "the text has an escape that JSON does not have";
      return content.has_value();
    }
    ListItem& item = items.emplace_back();
    item.origin = origin_of(token);
    item.written = token;
    if (kind == FieldKind::Sites && text) return item_part(item, ItemField::Site, token, false);
    if (engine::is_list(kind) && kind != FieldKind::Words && token.front() == '{')
      return item_object(item, value);
    reason = std::string(type_name(token.front())) + " where " +
             (kind == FieldKind::Words ? "a word" : "an object") + " of the list is needed";
    return false;
  }

  bool item_part(ListItem& item, ItemField part, std::string_view token, bool number) {
    const auto content = number ? std::optional(token) : text_of(token);
    if (content)
      return engine::set_item_part(number ? numbers : context, *block, item, part, *content,
                                   reason);
    reason = "the text has an escape that JSON does not have";
    return false;
  }

  bool item_object(ListItem& item, od::value& value) {
    od::object fields;
    if (value.get_object().get(fields) != simdjson::SUCCESS) {
      failed = true;
      return true;
    }
    bool good = true;
    for (auto next : fields) {
      od::field field;
      if (std::move(next).get(field) != simdjson::SUCCESS) {
        failed = true;
        return true;
      }
      const char* raw = field.key().raw();
      const std::string_view key(raw, static_cast<std::size_t>(std::strchr(raw, '"') - raw));
      good = item_member(item, key, field.value()) && good;
      if (failed) return true;
    }
    return good;
  }

  bool item_member(ListItem& item, std::string_view key, od::value& value) {
    if (key.starts_with("_") || key.starts_with("x-")) return true;
    const auto part = engine::item_field_named(key);
    if (!part) {
      reason = "`" + std::string(key) + "` is no part of a list's item";
      return false;
    }
    const std::string_view token = token_of(value);
    if (token.empty()) {
      failed = true;
      return true;
    }
    if (token == "null") {
      item.parts[static_cast<std::size_t>(*part)] = Value::none();
      return true;
    }
    if (token.front() == '{') return item_quantity(item, *part, value);
    const bool text = token.front() == '"' && token.size() >= 2;
    if (!text && (token.front() == '[' || json_problem(token) || token.front() > '9')) {
      reason = std::string(type_name(token.front())) + " where text in quotes is needed";
      return false;
    }
    return item_part(item, *part, token, !text);
  }

  bool item_quantity(ListItem& item, ItemField part, od::value& value) {
    const Parts parts = parts_of(value);
    if (failed) return true;
    if (!parts.bad.empty() || parts.number.empty()) {
      reason = R"(an object that is not of the shape {"value": 50, "unit": "mg"})";
      return false;
    }
    const std::string joined = std::string(parts.number) + " " + std::string(parts.unit);
    return engine::set_item_part(parts.is_text ? context : numbers, *block, item, part,
                                 block->keep(joined), reason);
  }
};

OrderJson::OrderJson(const engine::ReadContext& context)
    : state_(std::make_unique<State>(context)) {}
OrderJson::~OrderJson() = default;

OrderJson::Outcome OrderJson::read(std::string_view record, engine::OrderBlock& block,
                                   unsigned lane) {
  State& s = *state_;
  s.start(block, lane, record);
  if (s.plain.worth_trying()) {
    if (const std::size_t size = s.plain.read(s); size > 0) return {true, size, s.seen.any()};
    block.reopen_last_lane();
    s.start(block, lane, record);
  }
  s.failed = false;
  od::document document;
  const auto error =
      s.parser.iterate(record.data(), record.size(), record.size() + simdjson::SIMDJSON_PADDING)
          .get(document);
  if (error != simdjson::SUCCESS) return {};
  od::object root;
  if (document.get_object().get(root) != simdjson::SUCCESS) return {};
  s.object(root, kRootGroup);
  if (s.failed) return {};
  Outcome outcome{true, record.size(), s.seen.any()};
  const char* rest = nullptr;
  if (document.current_location().get(rest) == simdjson::SUCCESS &&
      rest < record.data() + record.size())
    outcome.size = static_cast<std::size_t>(rest - record.data());
  return outcome;
}

std::optional<std::uint32_t> OrderJson::object_at(unsigned lane, std::uint8_t group) const {
  const std::uint32_t place = state_->places.at(lane).at(group);
  if (place == JsonTarget::kNowhere) return std::nullopt;
  return place;
}

}  // namespace meniscus::adapters
