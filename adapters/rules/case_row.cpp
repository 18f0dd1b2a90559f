// Contract: see case_row.hpp.
#include "adapters/rules/case_row.hpp"

#include <algorithm>
#include <cmath>

#include "adapters/rules/example_orders.hpp"
#include "engine/slips/value_text.hpp"

namespace meniscus::adapters {

namespace {
using engine::ExampleOrder;
using engine::Expectation;
using engine::FieldId;
using engine::FieldKind;
using engine::ItemField;
using engine::ListItem;
using engine::OrderBlock;
using engine::Value;

constexpr std::int64_t kWeek = 7;

/// Names a person, or is written by hand: never in a case.
bool is_left_out(FieldId field) {
  switch (engine::info(field).kind) {
    case FieldKind::Text:
      return true;
    case FieldKind::Id:
      return field != FieldId::OrderId && field != FieldId::PatientId &&
             field != FieldId::OrderFulfils;
    case FieldKind::Code:
      return field == FieldId::OrderIndication;
    case FieldKind::Word:
    case FieldKind::Quantity:
    case FieldKind::Amount:
    case FieldKind::Strength:
    case FieldKind::AmountPerBodyMass:
    case FieldKind::Count:
    case FieldKind::Gauge:
    case FieldKind::Date:
    case FieldKind::MonthEnd:
    case FieldKind::YesNo:
    case FieldKind::Words:
    case FieldKind::Components:
    case FieldKind::Steps:
    case FieldKind::Sites:
      return false;
  }
  return true;
}

std::string part_text(ItemField part, const Value& value) {
  std::string text;
  const bool word =
      part == ItemField::Substance || part == ItemField::Site || part == ItemField::Side;
  if (word) return std::string(value.text);
  engine::slips::write_value(FieldId::Dose, value, {}, {}, text);
  return text;
}

/// `dose=50 mg every=1 wk; ...`, or the words of a list.
std::string list_text(const OrderBlock& block, const Value& list) {
  std::string text;
  const ListItem* items = block.items(list.aux);
  for (std::uint32_t i = 0; i < OrderBlock::item_count(list.aux); ++i) {
    if (i > 0) text += "; ";
    if (items[i].self.known()) {
      text += items[i].self.text;
      continue;
    }
    const char* separator = "";
    for (std::size_t part = 0; part < engine::kItemFieldCount; ++part) {
      if (!items[i].parts[part].known()) continue;
      const auto field = static_cast<ItemField>(part);
      text.append(separator).append(engine::name(field)).append("=");
      text += part_text(field, items[i].parts[part]);
      separator = " ";
    }
  }
  return text;
}

void append_cell(std::string& out, std::string_view text) {
  if (text.find_first_of(",;\"\n\r\t") == std::string_view::npos) {
    out += text;
    return;
  }
  out += '"';
  for (const char c : text) {
    out += c;
    if (c == '"') out += '"';
  }
  out += '"';
}

std::string expect_text(const std::vector<Expectation>& all) {
  std::string text;
  for (const Expectation& each : all) {
    if (!text.empty()) text += "; ";
    text += engine::expect_text(each);
  }
  return text;
}

const engine::ExampleField* find_field(const ExampleOrder& row, FieldId field) {
  const auto at = std::find_if(row.fields.begin(), row.fields.end(),
                               [&](const engine::ExampleField& f) { return f.field == field; });
  return at == row.fields.end() ? nullptr : &*at;
}

/// Every field that some row has, in the order of the table of fields.
std::vector<FieldId> columns_of(const std::vector<const ExampleOrder*>& rows) {
  std::vector<FieldId> columns;
  for (const engine::FieldInfo& field : engine::fields()) {
    const auto has = [&](const ExampleOrder* row) { return find_field(*row, field.id) != nullptr; };
    if (std::any_of(rows.begin(), rows.end(), has)) columns.push_back(field.id);
  }
  return columns;
}

void append_fields(std::string& out, const ExampleOrder& row, const std::vector<FieldId>& columns) {
  for (const FieldId column : columns) {
    out += ',';
    if (const engine::ExampleField* field = find_field(row, column)) append_cell(out, field->text);
  }
}
}  // namespace

CaseRows::CaseRows(std::int64_t day) : day_(day) {
  const auto weeks = static_cast<double>(kExampleDay - day) / static_cast<double>(kWeek);
  shift_ = static_cast<std::int64_t>(std::ceil(weeks)) * kWeek;
}

std::string CaseRows::invented_id(std::uint64_t id) {
  std::string& text = ids_[id];
  if (text.empty()) text = "A-" + std::to_string(ids_.size());
  return text;
}

std::string CaseRows::text(const OrderBlock& block, unsigned lane, FieldId field) const {
  const Value value = block.value(lane, field);
  if (value.state == engine::State::None) return "none";
  const FieldKind kind = engine::info(field).kind;
  std::string text;
  if (engine::is_list(kind)) return list_text(block, value);
  if (kind == FieldKind::Date || kind == FieldKind::MonthEnd) {
    engine::Date date = engine::unpack(value.number, value.aux);
    date.seconds += shift_ * 86400;
    date.precision = std::max(date.precision, engine::Precision::Day);
    return engine::format_date(date);
  }
  engine::slips::write_plainly(block, lane, field, text);
  return text;
}

ExampleOrder CaseRows::row(const OrderBlock& block, unsigned lane) {
  ExampleOrder order;
  const bool born = block.value(lane, FieldId::PatientBorn).known();
  for (const engine::FieldInfo& field : engine::fields()) {
    const Value value = block.value(lane, field.id);
    if (value.state == engine::State::Missing || is_left_out(field.id)) continue;
    if (field.id == FieldId::PatientAge && born) continue;  // it follows from the birth date
    if (field.id == FieldId::PatientId) {
      order.fields.push_back({field.id, "SM-0001"});
    } else if (field.id == FieldId::OrderId || field.id == FieldId::OrderFulfils) {
      order.fields.push_back({field.id, invented_id(value.aux)});
    } else {
      order.fields.push_back({field.id, text(block, lane, field.id)});
    }
  }
  return order;
}

std::vector<Expectation> expectations_of(const engine::Verdict& verdict) {
  std::vector<Expectation> out;
  for (const engine::Finding& finding : verdict.findings) {
    const bool built_in =
        finding.cite.empty() && finding.clause == 0 && engine::is_built_in(finding.rule);
    if (!built_in)
      out.push_back({engine::outcome_of(finding.grade), false, std::string(finding.rule)});
  }
  if (out.empty()) out.push_back({verdict.outcome, false, {}});
  return out;
}

std::string case_table_text(const engine::Example& example) {
  std::vector<const ExampleOrder*> rows;
  for (const ExampleOrder& earlier : example.earlier)
    rows.push_back(&earlier);
  rows.push_back(&example.order);
  const std::vector<FieldId> columns = columns_of(rows);
  std::string out = "title,as-of";
  for (const FieldId column : columns)
    out.append(",").append(engine::info(column).name);
  out += ",expect\n";
  for (const ExampleOrder* row : rows) {
    const bool own = row == &example.order;
    append_cell(out, own ? example.title : std::string("earlier"));
    out += ',';
    if (own && example.as_of) out += engine::format_day(*example.as_of);
    append_fields(out, *row, columns);
    out += ',';
    append_cell(out, own ? expect_text(example.expectations) : std::string());
    out += '\n';
  }
  return out;
}

}  // namespace meniscus::adapters
