// Prints what the HL7 v2 reader read, one JSON object a lane: for comparison with another parser.
//
//   hl7_dump TABLES FILE...      TABLES: the folder of the shipped tables (rules/)
//
// Each line: file, message, kind, reason, and for each field its text as written, as read, whether
// it came from text, whether it is in doubt, and its place.
#include <nlohmann/json.hpp>

#include <fstream>
#include <iostream>
#include <iterator>
#include <string>

#include "adapters/hl7v2/hl7_source.hpp"
#include "engine/quantity/quantity.hpp"
#include "tests/support/table_vocabularies.hpp"
#include "tests/support/text_input.hpp"

namespace {

using meniscus::engine::FieldInfo;
using meniscus::engine::FieldKind;
using meniscus::engine::OrderBlock;
using meniscus::engine::Value;

std::string shown(const FieldInfo& field, const Value& value) {
  if (value.state == meniscus::engine::State::None) return "none";
  if (!value.known()) return "";
  switch (field.kind) {
    case FieldKind::Quantity:
    case FieldKind::Amount:
    case FieldKind::Strength:
    case FieldKind::AmountPerBodyMass:
    case FieldKind::Count:
      return meniscus::engine::format_quantity(
          {value.number, meniscus::engine::Dimension::from_bits(value.aux)});
    case FieldKind::Date:
    case FieldKind::MonthEnd:
      return meniscus::engine::format_date(meniscus::engine::unpack(value.number, value.aux));
    case FieldKind::Gauge:
      return meniscus::engine::format_number(value.number);
    case FieldKind::Id:
    case FieldKind::Code:
    case FieldKind::Word:
    case FieldKind::Text:
    case FieldKind::YesNo:
      return std::string(value.text);
    case FieldKind::Words:
    case FieldKind::Components:
    case FieldKind::Steps:
    case FieldKind::Sites:
      return std::to_string(OrderBlock::item_count(value.aux)) + " items";
  }
  return "";
}

nlohmann::json lane_json(const OrderBlock& block, unsigned lane,
                         const meniscus::adapters::hl7v2::Hl7Source& source) {
  nlohmann::json out;
  const auto& record = block.record(lane);
  constexpr const char* kKinds[] = {"order", "unreadable", "outside"};
  out["message"] = record.message;
  out["kind"] = kKinds[static_cast<int>(record.kind)];
  out["reason"] = record.reason;
  const auto where = source.record_place(block, lane);
  out["line"] = where.line;
  out["at"] = where.at;
  for (const FieldInfo& field : meniscus::engine::fields()) {
    if ((block.column(field.id).present >> lane & 1U) == 0) continue;
    nlohmann::json& f = out["fields"][std::string(field.name)];
    f["written"] = block.written(lane, field.id);
    f["value"] = shown(field, block.value(lane, field.id));
    if (block.from_text(lane, field.id)) f["from"] = "text";
    const auto place = source.place(block, lane, field.id, block.origin(lane, field.id));
    f["at"] = place.at;
    f["line"] = place.line;
    f["column"] = place.column;
    if (field.kind == FieldKind::Words || field.kind == FieldKind::Components) {
      const auto value = block.value(lane, field.id);
      for (std::uint32_t i = 0; value.known() && i < OrderBlock::item_count(value.aux); ++i)
        f["items"].push_back(block.items(value.aux)[i].written);
    }
  }
  for (const auto& doubt : block.doubts()) {
    if (doubt.lane != lane) continue;
    const std::string name(meniscus::engine::info(doubt.field).name);
    out["doubts"][name] = {{"written", doubt.written}, {"reason", doubt.reason}};
  }
  return out;
}

}  // namespace

int main(int count, char** arguments) {
  if (count < 3) return 2;
  const auto program = std::make_unique<meniscus::engine::Program>();
  meniscus::testing::load_vocabularies(arguments[1], *program);
  const meniscus::engine::Feed feed;
  const meniscus::engine::ReadContext context{program.get(), &feed};
  OrderBlock block;
  for (int i = 2; i < count; ++i) {
    std::ifstream file(arguments[i], std::ios::binary);
    if (!file) return 2;
    std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
    meniscus::adapters::hl7v2::Hl7Source source(meniscus::testing::text_input(std::move(text)),
                                                context);
    while (source.next(block)) {
      for (unsigned lane = 0; lane < block.size(); ++lane) {
        nlohmann::json line = lane_json(block, lane, source);
        line["file"] = arguments[i];
        std::cout << line.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace) << '\n';
      }
    }
  }
  return 0;
}
