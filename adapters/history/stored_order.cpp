// Contract: see stored_order.hpp.
#include "adapters/history/stored_order.hpp"

#include <algorithm>
#include <bit>
#include <nlohmann/json.hpp>
#include <string_view>

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
    out += '"';
    out += text;
    out += '"';
    return;
  }
  out += nlohmann::json(text).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

/// A value of this kind is its text.
bool is_text(engine::FieldKind kind) {
  return kind == engine::FieldKind::Id || kind == engine::FieldKind::Code ||
         kind == engine::FieldKind::Word || kind == engine::FieldKind::YesNo;
}

/// A field that is kept, as it stands in a line.
struct Member {
  FieldId field;
  bool is_text;
  std::string name;  // "name":
};

Member member_of(const engine::FieldInfo& field) {
  return {field.id, is_text(field.kind), "\"" + std::string(field.name) + "\":"};
}

const std::vector<Member>& members() {
  static const std::vector<Member> kMembers = [] {
    std::vector<Member> all;
    for (const engine::FieldInfo& field : engine::fields())
      if (is_kept(field.id)) all.push_back(member_of(field));
    return all;
  }();
  return kMembers;
}

std::size_t mixed(FieldId field, const engine::Value& value) {
  constexpr std::uint64_t kOdd = 0x9E3779B97F4A7C15U;  // 2 to the 64 by the golden ratio
  const auto number = std::bit_cast<std::uint64_t>(value.number);
  const std::uint64_t all = (number ^ (value.aux << 1U) ^ static_cast<std::uint64_t>(field)) * kOdd;
  return all >> 32U;
}

}  // namespace

StoredOrderWriter::StoredOrderWriter() : said_(kMost) {}

const std::string& StoredOrderWriter::say(const engine::OrderBlock& block, unsigned lane,
                                          FieldId field, const engine::Value& value) {
  const std::string_view written = block.written(lane, field);
  Said& said = written.size() > kLongest ? long_ : said_[mixed(field, value) % said_.size()];
  const bool from_text = block.from_text(lane, field);
  const bool same =
      !said.text.empty() && said.field == field && said.aux == value.aux &&
      std::bit_cast<std::uint64_t>(said.number) == std::bit_cast<std::uint64_t>(value.number) &&
      said.from_text == from_text && said.written == written;
  if (same) return said.text;
  engine::slips::write_plainly(block, lane, field, plain_);
  said.field = field;
  said.number = value.number;
  said.aux = value.aux;
  said.from_text = from_text;
  said.written = written;
  said.text.clear();
  append_text(said.text, plain_);
  return said.text;
}

void StoredOrderWriter::append(std::string& out, const engine::OrderBlock& block, unsigned lane,
                               std::int64_t day) {
  char separator = '{';
  const auto begin = [&](std::string_view name) {
    out += separator;
    separator = ',';
    out += name;
  };
  const bool born = block.value(lane, FieldId::PatientBorn).known();
  for (const Member& member : members()) {
    const engine::Value value = block.value(lane, member.field);
    if (member.field == FieldId::PatientAge && born) continue;
    if (value.state == engine::State::None) {
      begin(member.name);
      out += "null";
    }
    if (!value.known()) continue;
    begin(member.name);
    if (member.is_text) {
      append_text(out, value.text);
    } else {
      out += say(block, lane, member.field, value);
    }
  }
  if (!block.value(lane, FieldId::OrderPlaced).known()) {
    begin(member_of(engine::info(FieldId::OrderPlaced)).name);
    append_text(out, engine::format_day(day));
  }
  out += '}';
}

}  // namespace meniscus::adapters
