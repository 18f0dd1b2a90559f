// Contract: see draft.hpp.
#include "tests/year/draft.hpp"

#include <algorithm>
#include <span>

#include "engine/quantity/calendar.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::year {

namespace {
using engine::FieldInfo;
using engine::FieldKind;

std::string_view group_of(const FieldInfo& field) {
  const std::size_t dot = field.name.find('.');
  return dot == std::string_view::npos ? std::string_view{} : field.name.substr(0, dot);
}

std::string_view key_of(const FieldInfo& field) {
  return field.name.substr(field.name.find('.') + 1);  // the whole name where there is no dot
}

void append_quoted(std::string& out, std::string_view text) {
  out += '"';
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  out += '"';
}

/// `a; b` as ["a","b"]; none as [].
void append_list(std::string& out, std::string_view text) {
  out += '[';
  while (!text.empty() && text != kNone) {
    const std::size_t end = std::min(text.find("; "), text.size());
    append_quoted(out, text.substr(0, end));
    text.remove_prefix(std::min(end + 2, text.size()));
    if (!text.empty()) out += ',';
  }
  out += ']';
}

/// `dose=50 mg volume=0.5 mL; ...` as objects.
void append_items(std::string& out, std::string_view text) {
  out += '[';
  while (!text.empty()) {
    const std::size_t end = std::min(text.find("; "), text.size());
    std::string_view item = text.substr(0, end);
    text.remove_prefix(std::min(end + 2, text.size()));
    out += '{';
    while (!item.empty()) {
      const std::size_t equals = item.find('=');
      // A part reaches to the blank before the next `key=`.
      const std::size_t next = item.find('=', equals + 1);
      const std::size_t stop = next == std::string_view::npos ? item.size() : item.rfind(' ', next);
      append_quoted(out, item.substr(0, equals));
      out += ':';
      append_quoted(out, item.substr(equals + 1, stop - equals - 1));
      item.remove_prefix(std::min(stop + 1, item.size()));
      if (!item.empty()) out += ',';
    }
    out += text.empty() ? "}" : "},";
  }
  out += ']';
}

void append_value(std::string& out, FieldKind kind, const std::string& text) {
  if (kind == FieldKind::Words) return append_list(out, text);
  if (kind == FieldKind::Steps || kind == FieldKind::Components) return append_items(out, text);
  if (text == kNone) {
    out += "null";
  } else if (kind == FieldKind::Count) {
    out += text;
  } else if (kind == FieldKind::YesNo) {
    out += text == "yes" ? "true" : "false";
  } else {
    append_quoted(out, text);
  }
}

void append_member(std::string& out, const FieldInfo& field, const std::string& text) {
  if (out.back() != '{') out += ',';
  append_quoted(out, key_of(field));
  out += ':';
  append_value(out, field.kind, text);
}
}  // namespace

void Draft::set_number(FieldId field, double value, std::string_view unit) {
  set(field, number_text(value, unit));
}

void Draft::set_day(FieldId field, std::int64_t day) { set(field, engine::format_day(day)); }

std::string number_text(double value, std::string_view unit) {
  std::string text = engine::format_number(value);
  if (!unit.empty()) text += ' ';
  return text += unit;
}

void append_json(std::string& out, const Draft& draft) {
  const std::span<const FieldInfo, engine::kFieldCount> fields = engine::fields();
  out += '{';
  std::string_view open;
  for (const FieldInfo& first : fields) {
    const std::string_view group = group_of(first);
    if (!draft.has(first.id) || (!group.empty() && group == open)) continue;
    if (group.empty()) {
      append_member(out, first, draft.at(first.id));
      continue;
    }
    // Fields of one group need not stand together in the table; a group is written where its first
    // field that is there stands.
    const bool written = std::any_of(fields.data(), &first, [&](const FieldInfo& field) {
      return group_of(field) == group && draft.has(field.id);
    });
    if (written) continue;
    open = group;
    if (out.back() != '{') out += ',';
    append_quoted(out, group);
    out += ":{";
    for (const FieldInfo& field : fields) {
      if (group_of(field) == group && draft.has(field.id))
        append_member(out, field, draft.at(field.id));
    }
    out += '}';
  }
  out += '}';
}

}  // namespace meniscus::year
