// Engine values: from the order's fields and the tables `needles` (gauge, wall, bore), `syringes`
// (capacity, barrel, dead-space), `vehicles` (vehicle, viscosity) and `products` (code, strength,
// vehicle), and the setting `hand-force`.  Where a table has no row the value is missing.  What
// draws up is the draw needle, or where none is named the injection needle; a draw needle whose
// length is not said is taken for an inch and a half, as blunt fill needles are (common practice).
#include "engine/eval/engine_value.hpp"

#include <array>

#include "engine/history/active.hpp"
#include "engine/mechanics/injection.hpp"
#include "engine/quantity/quantity.hpp"

namespace meniscus::engine {
namespace {

namespace m = mechanics;

constexpr double kMetrePerMillimetre = 1e-3;
constexpr double kCubicMetrePerCubicMillimetre = 1e-9;
constexpr double kPascalSecondPerBase = 1e-3;  // mg/(mm.s) is 1 mPa.s
constexpr double kNewtonPerBase = 1e-9;        // mg.mm/s2
constexpr double kFlow = 0.1 * 1000;  // 1 mL in 10 s, in mm3/s (nursing texts, from memory)
constexpr double kDrawNeedle = 38.1;  // mm

m::Length length(double millimetres) { return millimetres * kMetrePerMillimetre * m::si::meter; }
m::Volume volume_of(double cubic_millimetres) {
  return cubic_millimetres * kCubicMetrePerCubicMillimetre * m::si::cubic_meter;
}

class Worker {
 public:
  explicit Worker(const Scalar& scalar) : scalar_(scalar) {}

  [[nodiscard]] Value field(FieldId id) const {
    return scalar_.facts().block->value(scalar_.facts().lane, id);
  }

  /// Volume of one injection: as stated, else worked out from dose and strength.
  [[nodiscard]] Value volume() const {
    const Value stated = field(FieldId::Volume);
    if (stated.known()) return stated;
    const Value dose = field(FieldId::Dose);
    if (!dose.known()) return Value::missing();
    const Value parts = field(FieldId::Injections);
    const double share = parts.known() && parts.number > 0 ? parts.number : 1;
    if (Dimension::from_bits(dose.aux) == dim::kVolume) {
      return Value::quantity(dose.number / share, dim::kVolume);
    }
    const Value strength = field(FieldId::Strength);
    if (!strength.known() || strength.number == 0) return Value::missing();
    const Dimension kind = Dimension::from_bits(dose.aux) / Dimension::from_bits(strength.aux);
    if (kind != dim::kVolume) return Value::missing();
    return Value::quantity(dose.number / strength.number / share, dim::kVolume);
  }

  /// Inner diameter by gauge and wall.
  [[nodiscard]] Value bore_of(const Value& gauge, const Value& wall) const {
    static const Word kRegular = word_hash("regular");
    const Table* needles = scalar_.program().table("needles");
    if (needles == nullptr || !gauge.known()) return Value::missing();
    const auto gauge_column = needles->column("gauge");
    const auto wall_column = needles->column("wall");
    const auto bore_column = needles->column("bore");
    if (!gauge_column || !wall_column || !bore_column) return Value::missing();
    const Word wanted = wall.known() ? wall.aux : kRegular;
    for (std::size_t row = 0; row < needles->rows(); ++row) {
      if (needles->cell(row, *gauge_column).number != gauge.number) continue;
      if (needles->cell(row, *wall_column).aux == wanted) return needles->cell(row, *bore_column);
    }
    return Value::missing();
  }

  /// A figure of the syringe, by its capacity.
  [[nodiscard]] Value syringe(std::string_view name) const {
    const Table* syringes = scalar_.program().table("syringes");
    const Value capacity = field(FieldId::SyringeCapacity);
    if (syringes == nullptr || !capacity.known()) return Value::missing();
    const auto capacity_column = syringes->column("capacity");
    const auto wanted = syringes->column(name);
    if (!capacity_column || !wanted) return Value::missing();
    for (std::size_t row = 0; row < syringes->rows(); ++row) {
      if (compare(syringes->cell(row, *capacity_column).number, capacity.number) == 0) {
        return syringes->cell(row, *wanted);
      }
    }
    return Value::missing();
  }

  [[nodiscard]] Value viscosity() const {
    const Table* vehicles = scalar_.program().table("vehicles");
    const Value oil = vehicle();
    if (vehicles == nullptr || !oil.known()) return Value::missing();
    const auto column = vehicles->column("viscosity");
    if (!column) return Value::missing();
    for (std::size_t row = 0; row < vehicles->rows(); ++row) {
      if (vehicles->cell(row, 0).aux == oil.aux) return vehicles->cell(row, *column);
    }
    return Value::missing();
  }

  [[nodiscard]] Value hand_force() const {
    for (const Setting& setting : scalar_.program().settings) {
      if (setting.name == "hand-force") return setting.value;
    }
    return Value::missing();
  }

 private:
  /// As stated, else the one vehicle of the labelled product.
  [[nodiscard]] Value vehicle() const {
    const Value stated = field(FieldId::SubstanceVehicle);
    if (stated.known()) return stated;
    const Table* products = scalar_.program().table("products");
    const Value code = field(FieldId::SubstanceCode);
    const Value strength = field(FieldId::Strength);
    if (products == nullptr || !code.known() || !strength.known()) return Value::missing();
    const auto strength_column = products->column("strength");
    const auto vehicle_column = products->column("vehicle");
    if (!strength_column || !vehicle_column) return Value::missing();
    Value found = Value::missing();
    for (std::size_t row = 0; row < products->rows(); ++row) {
      const Value& label = products->cell(row, *strength_column);
      if (products->cell(row, 0).aux != code.aux || label.aux != strength.aux ||
          compare(label.number, strength.number) != 0) {
        continue;
      }
      const Value& cell = products->cell(row, *vehicle_column);
      if (found.known() && found.aux != cell.aux) return Value::missing();
      found = cell;
    }
    return found;
  }

  const Scalar& scalar_;
};

struct Push {
  m::Needle needle;
  m::Length barrel;
  m::Viscosity viscosity;
};

std::optional<Push> push_through(const Worker& work, const Value& bore, const Value& needle) {
  const Value barrel = work.syringe("barrel");
  const Value viscosity = work.viscosity();
  if (!bore.known() || !needle.known() || !barrel.known() || !viscosity.known()) return {};
  return Push{{length(bore.number), length(needle.number)},
              length(barrel.number),
              viscosity.number * kPascalSecondPerBase * m::si::pascal * m::si::second};
}

std::optional<Push> injection_push(const Worker& work) {
  return push_through(
      work, work.bore_of(work.field(FieldId::NeedleGauge), work.field(FieldId::NeedleWall)),
      work.field(FieldId::NeedleLength));
}

std::optional<Push> draw_up_pull(const Worker& work) {
  const Value gauge = work.field(FieldId::DrawNeedleGauge);
  if (!gauge.known()) return injection_push(work);
  const Value stated = work.field(FieldId::DrawNeedleLength);
  return push_through(work, work.bore_of(gauge, Value::missing()),
                      stated.known() ? stated : Value::quantity(kDrawNeedle, dim::kLength));
}

Value force_of(const std::optional<Push>& push) {
  if (!push) return Value::missing();
  const m::Flow flow = volume_of(kFlow) / (1.0 * m::si::second);
  const m::Force force = m::plunger_force(push->needle, push->barrel, push->viscosity, flow);
  return Value::quantity(force / m::si::newton / kNewtonPerBase, dim::kForce);
}

using TimeOf = m::Duration (*)(const m::Needle&, const m::Length&, const m::Viscosity&,
                               const m::Volume&, const m::Force&);

Value time_of(const Worker& work, const std::optional<Push>& push, TimeOf model) {
  const Value volume = work.volume();
  const Value force = work.hand_force();
  if (!push || !volume.known() || !force.known()) return Value::missing();
  const m::Duration time =
      model(push->needle, push->barrel, push->viscosity, volume_of(volume.number),
            force.number * kNewtonPerBase * m::si::newton);
  return Value::quantity(time / m::si::second, dim::kTime);
}

/// A share of the delivered dose's error; `of` picks it and what it needs beside the volume.
Value dose_error(const Worker& work, EngineValue of) {
  const bool by_marks = of == EngineValue::DeliveredDoseError || of == EngineValue::GraduationShare;
  const Value zero = Value::quantity(0, dim::kVolume);
  const Value capacity = work.field(FieldId::SyringeCapacity);
  const Value graduation = by_marks ? work.field(FieldId::SyringeGraduation) : zero;
  const Value dead_space = of == EngineValue::DeadSpaceShare ? work.syringe("dead-space") : zero;
  const Value volume = work.volume();
  if (!capacity.known() || !graduation.known() || !dead_space.known() || !volume.known() ||
      volume.number <= 0) {
    return Value::missing();
  }
  const m::DoseError error =
      m::delivered_dose_error(volume_of(capacity.number), volume_of(graduation.number),
                              volume_of(dead_space.number), volume_of(volume.number));
  double share = error.of_scale();
  if (of == EngineValue::ToleranceShare) share = error.tolerance;
  if (of == EngineValue::GraduationShare) share = error.graduation;
  if (of == EngineValue::DeadSpaceShare) share = error.dead_space;
  return Value::quantity(share, dim::kNumber);
}

}  // namespace

Value engine_value(Scalar& scalar, EngineValue value) {
  const Worker work(scalar);
  const Value every = work.field(FieldId::ScheduleEvery);
  const Value times = work.field(FieldId::ScheduleTimes);
  const Value start = scalar.facts().planned_day;
  const Value end = work.field(FieldId::ScheduleEnd);
  const Value doses = planned_doses(work.field(FieldId::SupplyDoses), start, end, every, times);
  switch (value) {
    case EngineValue::PlannedDoses:
      return doses;
    case EngineValue::SupplyEnd:
      return supply_end(doses, start, end, every, times);
    case EngineValue::WeeklyDose:
      return weekly_dose(work.field(FieldId::Dose), every, times);
    case EngineValue::PlungerForce:
      return force_of(injection_push(work));
    case EngineValue::TimeToInject:
      return time_of(work, injection_push(work), m::time_to_inject);
    case EngineValue::DrawUpForce:
      return force_of(draw_up_pull(work));
    case EngineValue::TimeToDrawUp:
      return time_of(work, draw_up_pull(work), m::time_to_draw_up);
    case EngineValue::SmallestMeasurable:
      return work.field(FieldId::SyringeGraduation);
    case EngineValue::DeliveredDoseError:
    case EngineValue::ToleranceShare:
    case EngineValue::GraduationShare:
    case EngineValue::DeadSpaceShare:
      return dose_error(work, value);
  }
  return Value::missing();
}

std::span<const FieldId> engine_value_reads(EngineValue value) {
  using F = FieldId;
  static constexpr std::array kForce = {F::NeedleGauge,     F::NeedleWall,       F::NeedleLength,
                                        F::SyringeCapacity, F::SubstanceVehicle, F::SubstanceCode,
                                        F::Strength};
  static constexpr std::array kDrawForce = {
      F::NeedleGauge,      F::NeedleWall,       F::NeedleLength,
      F::DrawNeedleGauge,  F::DrawNeedleLength, F::SyringeCapacity,
      F::SubstanceVehicle, F::SubstanceCode,    F::Strength};
  static constexpr std::array kDrawTime = {F::NeedleGauge,
                                           F::NeedleWall,
                                           F::NeedleLength,
                                           F::DrawNeedleGauge,
                                           F::DrawNeedleLength,
                                           F::SyringeCapacity,
                                           F::SubstanceVehicle,
                                           F::SubstanceCode,
                                           F::Strength,
                                           F::Volume,
                                           F::Dose,
                                           F::Injections};
  static constexpr std::array kTime = {F::NeedleGauge,     F::NeedleWall,       F::NeedleLength,
                                       F::SyringeCapacity, F::SubstanceVehicle, F::SubstanceCode,
                                       F::Strength,        F::Volume,           F::Dose,
                                       F::Injections};
  static constexpr std::array kWeekly = {F::Dose, F::ScheduleEvery, F::ScheduleTimes};
  static constexpr std::array kGraduation = {F::SyringeGraduation};
  static constexpr std::array kDelivered = {
      F::SyringeCapacity, F::SyringeGraduation, F::Volume, F::Dose, F::Injections, F::Strength};
  switch (value) {
    case EngineValue::PlungerForce:
      return kForce;
    case EngineValue::TimeToInject:
      return kTime;
    case EngineValue::SmallestMeasurable:
      return kGraduation;
    case EngineValue::DrawUpForce:
      return kDrawForce;
    case EngineValue::TimeToDrawUp:
      return kDrawTime;
    case EngineValue::DeliveredDoseError:
    case EngineValue::ToleranceShare:
    case EngineValue::GraduationShare:
    case EngineValue::DeadSpaceShare:
      return kDelivered;
    case EngineValue::WeeklyDose:
      return kWeekly;
    case EngineValue::PlannedDoses:
    case EngineValue::SupplyEnd:
      return {};
  }
  return {};
}

}  // namespace meniscus::engine
