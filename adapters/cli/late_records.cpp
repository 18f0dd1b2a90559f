// Contract: see late_records.hpp.
#include "adapters/cli/late_records.hpp"

#include <algorithm>

#include "adapters/cli/counted.hpp"
#include "engine/history/history.hpp"

namespace meniscus::adapters {

using engine::Action;
using engine::FieldId;
using engine::Value;

void LateRecords::add(const engine::OrderBlock& block) {
  for (unsigned lane = 0; lane < block.size(); ++lane)
    if (block.record(lane).kind == engine::RecordKind::Order) add(block, lane);
}

void LateRecords::add(const engine::OrderBlock& block, unsigned lane) {
  const Action action = engine::action_of(block, lane);
  if (action == Action::Stop || action == Action::Cancel) return;
  const bool given = action == Action::Given;
  const Value patient = block.value(lane, FieldId::PatientId);
  const Value when = block.value(lane, given ? FieldId::OrderGiven : FieldId::OrderPlaced);
  if (!patient.known() || patient.aux == engine::kNoWord || !when.known()) return;
  const std::int32_t day = engine::day_of(when.number);
  if (given) {
    const std::int32_t* const newest = newest_.find(patient.aux);
    if (newest != nullptr && day < *newest) ++injections_;
    return;
  }
  std::int32_t& newest = newest_.find_or_add(patient.aux);
  if (newest != 0 && day < newest) ++orders_;
  newest = newest == 0 ? day : std::max(newest, day);
}

std::string LateRecords::sentence() const {
  if (injections_ + orders_ == 0) return {};
  std::string text;
  if (injections_ > 0) text = counted(injections_, "given injection");
  if (injections_ > 0 && orders_ > 0) text += " and ";
  if (orders_ > 0) text += counted(orders_, "order");
  text += injections_ + orders_ == 1 ? " stands" : " stand";
  return text +
         " behind later orders of the same patient, which were judged without what is older; "
         "sort the input by day, or use `meniscus replay`, which does";
}

}  // namespace meniscus::adapters
