// Which day an order is judged as of: the host's word, its own date, its message's, the host's day.
// A date of an order that lies in the future is a mistake, and no day to judge it as of.
#include "engine/eval/facts.hpp"

namespace meniscus::engine {
namespace {

Value date_of_day(std::int64_t day) {
  Date date;
  date.seconds = day * 86400;
  return Value::date(date);
}

/// Without a time: the midnight that the day begins with is none that anybody wrote.
Value start_of_day(const Value& date) { return date_of_day(unpack(date.number, date.aux).day()); }

/// Over a day ahead of the host's: clocks of other time zones are ahead by less.  A host that says
/// no day has none to compare with.
bool lies_ahead(const Value& date, const Days& days) {
  return days.host > 0 && unpack(date.number, date.aux).day() > days.host + 1;
}

Value today_of(const OrderBlock& block, unsigned lane, const Days& days) {
  if (days.as_of) return date_of_day(*days.as_of);
  const Value placed = block.value(lane, FieldId::OrderPlaced);
  if (placed.known() && !lies_ahead(placed, days)) return start_of_day(placed);
  const Value message = block.message_date(lane);
  const bool dated = message.known() && !lies_ahead(message, days);
  return dated ? start_of_day(message) : date_of_day(days.host);
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
