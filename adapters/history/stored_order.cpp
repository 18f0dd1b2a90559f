// Contract: see stored_order.hpp.
#include "adapters/history/stored_order.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "engine/quantity/calendar.hpp"
#include "engine/slips/value_text.hpp"

namespace meniscus::adapters {

using engine::FieldId;

namespace {

bool is_kept(FieldId field) {
  const engine::FieldKind kind = engine::info(field).kind;
  return field != FieldId::OrderIndication && field != FieldId::OrderPrescriber &&
         kind != engine::FieldKind::Text && !engine::is_list(kind);
}

bool is_plain(char c) { return c >= ' ' && c <= '~' && c != '"' && c != '\\'; }

void append_text(std::string& out, std::string_view text) {
  if (std::all_of(text.begin(), text.end(), is_plain)) {
    out.append("\"").append(text).append("\"");
    return;
  }
  out += nlohmann::json(text).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

}  // namespace

void append_stored_order(std::string& out, const engine::OrderBlock& block, unsigned lane,
                         std::int64_t day) {
  std::string text;
  char separator = '{';
  const auto member = [&](FieldId field) -> std::string& {
    out += separator;
    separator = ',';
    return out.append("\"").append(engine::info(field).name).append("\":");
  };
  const bool born = block.value(lane, FieldId::PatientBorn).known();
  for (const engine::FieldInfo& field : engine::fields()) {
    const engine::Value value = block.value(lane, field.id);
    if (!is_kept(field.id) || (field.id == FieldId::PatientAge && born)) continue;
    if (value.state == engine::State::None) member(field.id) += "null";
    if (!value.known()) continue;
    engine::slips::write_plainly(block, lane, field.id, text);
    append_text(member(field.id), text);
  }
  if (!block.value(lane, FieldId::OrderPlaced).known())
    append_text(member(FieldId::OrderPlaced), engine::format_day(day));
  out += '}';
}

}  // namespace meniscus::adapters
