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

std::string expect_text(const Expectation& expectation) {
  std::string text(expectation.nothing ? "nothing" : name(*expectation.outcome));
  if (!expectation.rule.empty()) text += " from " + expectation.rule;
  return text;
}

bool set_expected(Expectation& expectation, std::string_view word) {
  if (word == "nothing") {
    expectation.nothing = true;
  } else if (word == "clear") {
    expectation.outcome = Outcome::Clear;
  } else if (word == "incomplete") {
    expectation.outcome = Outcome::Incomplete;
  } else if (const auto grade = grade_named(word)) {
    expectation.outcome = outcome_of(*grade);
  } else {
    return false;
  }
  return true;
}

std::string_view name(ChangeKind kind) {
  switch (kind) {
    case ChangeKind::Adjust:
      return "adjust";
    case ChangeKind::Regrade:
      return "regrade";
    case ChangeKind::Mute:
      return "mute";
    case ChangeKind::Retire:
      return "retire";
    case ChangeKind::Extend:
      return "extend table";
    case ChangeKind::Trial:
      return "trial rule";
  }
  return "";
}

namespace {
using F = FieldId;
using E = EngineValue;
constexpr Type kQuantity = Type::Quantity;

std::vector<EngineValueInfo> values_of_a_plan() {
  return {{E::PlannedDoses,
           "planned doses",
           kQuantity,
           dim::kNumber,
           {F::SupplyDoses, F::ScheduleStart, F::ScheduleEnd, F::ScheduleEvery}},
          {E::SupplyEnd,
           "supply end",
           Type::Date,
           dim::kNumber,
           {F::SupplyDoses, F::ScheduleEnd, F::ScheduleEvery}},
          {E::WeeklyDose,
           "weekly dose of this order",
           kQuantity,
           dim::kNumber,
           {F::Dose, F::ScheduleEvery}}};
}

std::vector<EngineValueInfo> values_of_an_injection() {
  const std::vector<F> push = {F::NeedleGauge, F::NeedleLength, F::SyringeCapacity,
                               F::SubstanceVehicle};
  std::vector<F> push_volume = push;
  push_volume.push_back(F::Volume);
  const std::vector<F> syringe = {F::SyringeCapacity, F::Volume};
  const std::vector<F> marks = {F::SyringeCapacity, F::SyringeGraduation, F::Volume};
  return {{E::PlungerForce, "plunger force", kQuantity, dim::kForce, push},
          {E::TimeToInject, "time to inject", kQuantity, dim::kTime, push_volume},
          {E::SmallestMeasurable,
           "smallest measurable volume",
           kQuantity,
           dim::kVolume,
           {F::SyringeGraduation}},
          {E::DeliveredDoseError, "delivered-dose error", kQuantity, dim::kNumber, marks},
          {E::ToleranceShare, "tolerance share", kQuantity, dim::kNumber, syringe},
          {E::GraduationShare, "graduation share", kQuantity, dim::kNumber, marks},
          {E::DeadSpaceShare, "dead-space share", kQuantity, dim::kNumber, syringe},
          {E::DrawUpForce, "draw-up force", kQuantity, dim::kForce, push},
          {E::TimeToDrawUp, "time to draw up", kQuantity, dim::kTime, push_volume}};
}
}  // namespace

const std::vector<EngineValueInfo>& engine_values() {
  static const std::vector<EngineValueInfo> kValues = [] {
    std::vector<EngineValueInfo> all = values_of_a_plan();  // in the order of the enumerators
    const std::vector<EngineValueInfo> injection = values_of_an_injection();
    all.insert(all.end(), injection.begin(), injection.end());
    return all;
  }();
  return kValues;
}

}  // namespace meniscus::engine
