// Which day an order is judged as of: the host's word, its own date, its message's, the host's day.
#include "engine/eval/facts.hpp"

#include <cmath>

namespace meniscus::engine {
namespace {

Value start_of_day(const Value& date) {
  Value day = date;
  day.number = std::floor(date.number / 86400.0) * 86400.0;
  return day;
}

Value date_of_day(std::int64_t day) {
  Date date;
  date.seconds = day * 86400;
  return Value::date(date);
}

Value today_of(const OrderBlock& block, unsigned lane, const Days& days) {
  if (days.as_of) return date_of_day(*days.as_of);
  const Value placed = block.value(lane, FieldId::OrderPlaced);
  if (placed.known()) return start_of_day(placed);
  const Value message = block.message_date(lane);
  return message.known() ? start_of_day(message) : date_of_day(days.host);
}

}  // namespace

OrderFacts facts_of(const OrderBlock& block, unsigned lane, const Days& days) {
  OrderFacts facts;
  facts.block = &block;
  facts.lane = lane;
  facts.today = today_of(block, lane, days);
  const Value start = block.value(lane, FieldId::ScheduleStart);
  facts.planned_day = start.known() ? start : facts.today;
  facts.id = block.value(lane, FieldId::OrderId).aux;
  facts.filler = block.value(lane, FieldId::OrderFiller).aux;
  return facts;
}

}  // namespace meniscus::engine
