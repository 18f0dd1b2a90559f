// Sums over an order's schedule.
#include "engine/history/active.hpp"

#include <cmath>
#include <limits>

#include "engine/eval/primitives.hpp"

namespace meniscus::engine {
namespace {

constexpr double kWeek = 7.0 * 86400.0;

double times_or_one(const Value& times) {
  return times.known() && times.number > 0 ? times.number : 1;
}

}  // namespace

Value weekly_dose(const Value& dose, const Value& every, const Value& times) {
  const State state = primitives::joint(dose, every);
  if (state != State::Known || every.number <= 0) {
    return {0, 0, {}, state == State::Known ? State::Missing : state};
  }
  return Value::quantity(dose.number * times_or_one(times) * kWeek / every.number,
                         Dimension::from_bits(dose.aux));
}

Value weekly_dose(const HistoryRecord& record) {
  return weekly_dose(record.value(FieldId::Dose), record.value(FieldId::ScheduleEvery),
                     record.value(FieldId::ScheduleTimes));
}

Value planned_doses(const Value& supply_doses, const Value& start, const Value& end,
                    const Value& every, const Value& times) {
  if (supply_doses.known()) return Value::quantity(supply_doses.number, dim::kNumber);
  if (!start.known() || !end.known() || !every.known() || every.number <= 0) {
    return Value::missing();
  }
  const double apart = every.number / times_or_one(times);
  const double span = primitives::days_between(start.number, end.number);
  return Value::quantity(std::floor(span / apart * (1 + kTolerance)) + 1, dim::kNumber);
}

Value supply_end(const Value& doses, const Value& start, const Value& end, const Value& every,
                 const Value& times) {
  if (end.known()) return end;
  if (!doses.known() || !start.known() || !every.known() || doses.number < 1) {
    return Value::missing();
  }
  const double apart = every.number / times_or_one(times);
  return primitives::date_after(Value::quantity((doses.number - 1) * apart, dim::kTime), start);
}

double active_until(const HistoryRecord& record) {
  const Value last = supply_end(
      record.value(FieldId::SupplyDoses), record.event(), record.value(FieldId::ScheduleEnd),
      record.value(FieldId::ScheduleEvery), record.value(FieldId::ScheduleTimes));
  return last.known() ? last.number : std::numeric_limits<double>::infinity();
}

}  // namespace meniscus::engine
