// How long an order is active, and how much it gives a week: the same sums for the order that is
// judged and for those that history remembers.
#pragma once

#include "engine/history/history.hpp"

namespace meniscus::engine {

/// dose * times / every * 7 days; missing when dose or interval is.  `times` missing: 1.
Value weekly_dose(const Value& dose, const Value& every, const Value& times);
Value weekly_dose(const HistoryRecord& record);

/// Doses that an order plans: supply.doses, else the doses from start to end (both included) at its
/// interval; missing when neither is known.  Number.
Value planned_doses(const Value& supply_doses, const Value& start, const Value& end,
                    const Value& every, const Value& times);
/// Day of the last planned dose: schedule.end, else start plus the planned doses' intervals.
Value supply_end(const Value& doses, const Value& start, const Value& end, const Value& every,
                 const Value& times);

/// Local seconds of a record's last planned dose; infinite when it plans no end.
double active_until(const HistoryRecord& record);
/// Not stopped before `day`, and not over: its end, or else its last planned dose, is not before
/// it. An order with neither is active.
[[nodiscard]] inline bool is_active(const HistoryRecord& record, const Value& day) {
  if (!day.known() || (record.stopped && record.stopped_at <= day.number)) return false;
  const std::int32_t active_days = record.said->active_days;
  return active_days == DatedContents::kEndless ||
         std::int64_t{record.day()} + active_days >= day_of(day.number);
}

}  // namespace meniscus::engine
