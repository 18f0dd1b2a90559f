// The small parts of program.hpp: tables, bands and the list of engine values.
#include "engine/program/program.hpp"

#include <bit>

namespace meniscus::engine {

std::optional<std::size_t> Table::column(std::string_view name) const {
  for (std::size_t i = 0; i < columns.size(); ++i) {
    if (columns[i].name == name) return i;
  }
  return std::nullopt;
}

double band_end(const Value& band) { return std::bit_cast<double>(band.aux); }

Value make_band(double from, double end, Dimension /*dimension*/) {
  return {from, std::bit_cast<std::uint64_t>(end), {}, State::Known};
}

const Table* Program::table(std::string_view name) const {
  for (const Table& t : tables) {
    if (t.name == name) return &t;
  }
  return nullptr;
}

const std::vector<EngineValueInfo>& engine_values() {
  using F = FieldId;
  static const std::vector<EngineValueInfo> kValues = {
      {EngineValue::PlannedDoses,
       "planned doses",
       Type::Quantity,
       dim::kNumber,
       {F::SupplyDoses, F::ScheduleStart, F::ScheduleEnd, F::ScheduleEvery}},
      {EngineValue::SupplyEnd,
       "supply end",
       Type::Date,
       dim::kNumber,
       {F::SupplyDoses, F::ScheduleEnd, F::ScheduleEvery}},
      {EngineValue::WeeklyDose,
       "weekly dose of this order",
       Type::Quantity,
       dim::kNumber,
       {F::Dose, F::ScheduleEvery}},
      {EngineValue::PlungerForce,
       "plunger force",
       Type::Quantity,
       dim::kForce,
       {F::NeedleGauge, F::NeedleLength, F::SyringeCapacity, F::SubstanceVehicle}},
      {EngineValue::TimeToInject,
       "time to inject",
       Type::Quantity,
       dim::kTime,
       {F::NeedleGauge, F::NeedleLength, F::SyringeCapacity, F::SubstanceVehicle, F::Volume}},
      {EngineValue::SmallestMeasurable,
       "smallest measurable volume",
       Type::Quantity,
       dim::kVolume,
       {F::SyringeGraduation}},
      {EngineValue::DeliveredDoseError,
       "delivered-dose error",
       Type::Quantity,
       dim::kNumber,
       {F::SyringeCapacity, F::SyringeGraduation, F::Volume}},
      {EngineValue::ToleranceShare,
       "tolerance share",
       Type::Quantity,
       dim::kNumber,
       {F::SyringeCapacity, F::Volume}},
      {EngineValue::GraduationShare,
       "graduation share",
       Type::Quantity,
       dim::kNumber,
       {F::SyringeCapacity, F::SyringeGraduation, F::Volume}},
      {EngineValue::DeadSpaceShare,
       "dead-space share",
       Type::Quantity,
       dim::kNumber,
       {F::SyringeCapacity, F::Volume}},
      {EngineValue::DrawUpForce,
       "draw-up force",
       Type::Quantity,
       dim::kForce,
       {F::NeedleGauge, F::NeedleLength, F::SyringeCapacity, F::SubstanceVehicle}},
      {EngineValue::TimeToDrawUp,
       "time to draw up",
       Type::Quantity,
       dim::kTime,
       {F::NeedleGauge, F::NeedleLength, F::SyringeCapacity, F::SubstanceVehicle, F::Volume}},
  };
  return kValues;
}

}  // namespace meniscus::engine
