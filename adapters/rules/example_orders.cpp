// Contract: see example_orders.hpp.
#include "adapters/rules/example_orders.hpp"
#include "engine/order/said_none.hpp"

#include <algorithm>

namespace meniscus::adapters {

namespace {
using engine::ExampleField;
using engine::ExampleOrder;
using engine::FieldId;
using engine::FieldKind;

bool names(const ExampleOrder& order, FieldId field) {
  return std::any_of(order.fields.begin(), order.fields.end(),
                     [&](const ExampleField& f) { return f.field == field; });
}
}  // namespace

void ExampleOrders::set(engine::OrderBlock& block, unsigned lane, FieldId field,
                        std::string_view text) const {
  const engine::Origin origin{0, static_cast<std::uint32_t>(text.size())};
  if (text == "none") {
    block.set(lane, field, engine::said_none(field), text, origin);
  } else if (engine::is_list(engine::info(field).kind)) {
    engine::set_list(context_, block, lane, field, text, origin);
  } else {
    engine::set_field(context_, block, lane, field, text, origin);
  }
}

void ExampleOrders::add(engine::OrderBlock& block, const ExampleOrder& order, std::string_view id,
                        bool needs_patient) const {
  const unsigned lane = block.add_lane();
  for (const ExampleField& field : order.fields) {
    set(block, lane, field.field, field.text);
  }
  if (!names(order, FieldId::OrderId)) set(block, lane, FieldId::OrderId, id);
  if (needs_patient && !names(order, FieldId::PatientId)) {
    set(block, lane, FieldId::PatientId, "example");
  }
  if (names(order, FieldId::OrderGiven) && !names(order, FieldId::OrderAction)) {
    set(block, lane, FieldId::OrderAction, "given");
  }
  engine::complete(context_, block, lane);
}

std::int64_t day_of(const engine::Example& example) {
  if (example.as_of) return *example.as_of;
  std::int64_t day = 0;
  for (const ExampleField& field : example.order.fields) {
    if (field.field != FieldId::ScheduleStart && field.field != FieldId::OrderPlaced) continue;
    const auto date = engine::parse_date(field.text);
    if (date) day = std::max(day, date->day());
  }
  return day == 0 ? kExampleDay : day;
}

}  // namespace meniscus::adapters
