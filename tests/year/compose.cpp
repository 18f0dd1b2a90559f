// Contract: see compose.hpp.
#include "tests/year/compose.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "engine/quantity/calendar.hpp"

namespace meniscus::year {

namespace {
std::string time_text(std::int64_t minute) {
  const std::int64_t day = minute / 1440;
  const auto of_day = static_cast<int>(minute % 1440);
  std::string text = engine::format_day(day) + "T";
  const auto two = [&](int value) {
    text += static_cast<char>('0' + value / 10);
    text += static_cast<char>('0' + value % 10);
  };
  two(of_day / 60);
  text += ':';
  two(of_day % 60);
  return text;
}

std::string patient_id(std::uint32_t number) {
  std::string digits = std::to_string(number);
  if (digits.size() < 4) digits.insert(0, 4 - digits.size(), '0');
  return "SM-" + digits;
}

/// Weighed every 60 days; it moves by half a kilogram.
void set_patient(Draft& draft, const Patient& patient, std::int64_t day) {
  draft.set(FieldId::PatientId, patient_id(patient.number));
  draft.set_day(FieldId::PatientBorn, patient.born);
  draft.set(FieldId::PatientSex, patient.female ? "female" : "male");
  const std::int64_t period = (day + patient.number) / 60;
  const std::int64_t weighed = period * 60 - patient.number % 60;
  Random random(mix(patient.number, static_cast<std::uint64_t>(period)));
  draft.body_kilograms = patient.kilograms + 0.5 * random.between(-2, 2);
  draft.set_number(FieldId::PatientWeight, draft.body_kilograms, "kg");
  draft.set_day(FieldId::PatientWeighed, std::min(weighed, day));
  draft.set(FieldId::PatientAllergies, patient.allergies);
}

std::string dose_text(const Draft& draft, const Regimen& regimen) {
  return number_text(draft.dose, regimen.unit);
}

std::string_view kind_text(Container container) {
  switch (container) {
    case Container::MultiDose:
      return "multi-dose";
    case Container::SingleDose:
      return "single-dose";
    case Container::Ampoule:
      return "ampoule";
    case Container::Prefilled:
      return "prefilled";
    case Container::Pen:
      return "pen";
    case Container::Powder:
      return "powder";
  }
  return {};
}

void set_medicine(Draft& draft, const Patient& patient, const Visit& visit) {
  const Regimen& regimen = formulary()[patient.plans[visit.plan].regimen];
  draft.set(FieldId::SubstanceCode, regimen.code);
  draft.set(FieldId::SubstanceName,
            std::string(regimen.name) + " " + std::string(regimen.strength_text) + " injection");
  draft.set(FieldId::SubstanceVehicle, regimen.vehicle);
  if (regimen.container != Container::Powder) {
    draft.set(FieldId::Strength, regimen.strength_text);
  }
  draft.dose = regimen.doses[visit.rung];
  if (regimen.per_kilogram > 0) {
    draft.dose =
        std::round(regimen.per_kilogram * draft.body_kilograms / regimen.step) * regimen.step;
    draft.set(FieldId::DosePerWeight,
              number_text(regimen.per_kilogram, std::string(regimen.unit) + "/kg"));
  }
  draft.set(FieldId::Dose, dose_text(draft, regimen));
  if (regimen.container == Container::Pen) return;  // a pen is set to the dose
  draft.volume = draft.dose / regimen.strength;
  draft.set_number(FieldId::Volume, draft.volume, "mL");
  if (regimen.device == Device::MarksSyringe) {
    draft.set_number(FieldId::Marks, draft.volume * 100, "marks");  // U-100: 0.01 mL a mark
  }
}

/// Restates CDC/ACIP General Best Practice Guidelines, Table 6-2 (rules/needle-lengths.csv).
std::string_view deltoid_needle(const Patient& patient, double kilograms) {
  const bool large = kilograms >= (patient.female ? 90 : 118);
  return large ? "1 1/2 in" : "1 in";
}

void set_needles(Draft& draft, const Patient& patient, const Regimen& regimen) {
  if (regimen.gauge == 0) return;
  draft.set(FieldId::NeedleGauge, std::to_string(regimen.gauge) + " G");
  std::string_view length = regimen.oil ? "5/8 in" : "1/2 in";
  if (regimen.gauge > 30) length = "5/16 in";
  const std::string& site = draft.at(FieldId::Site);
  if (site == "vastus-lateralis") length = "1 in";
  if (site == "ventrogluteal") length = "1 1/2 in";
  if (site == "deltoid") length = deltoid_needle(patient, draft.body_kilograms);
  draft.set(FieldId::NeedleLength, length);
  if (regimen.draw_gauge == 0) return;
  draft.set(FieldId::DrawNeedleGauge, std::to_string(regimen.draw_gauge) + " G");
  draft.set(FieldId::DrawNeedleLength, "1 1/2 in");
  draft.set(FieldId::DrawNeedleFilter, regimen.container == Container::Ampoule ? "yes" : "no");
  draft.set(FieldId::Technique, "two-needle");
}

void set_device(Draft& draft, const Patient& patient, const Regimen& regimen) {
  set_needles(draft, patient, regimen);
  switch (regimen.device) {
    case Device::Ready:
      return;
    case Device::Syringe:
      draft.set(FieldId::SyringeScale, "mL");
      draft.set(FieldId::SyringeNeedle, "detachable");
      draft.set(FieldId::SyringeTip, "lock");
      set_syringe(draft, draft.volume);
      return;
    case Device::InsulinSyringe:
    case Device::MarksSyringe:
      draft.set(FieldId::SyringeScale, "U-100");
      draft.set(FieldId::SyringeNeedle, "fixed");
      draft.set(FieldId::Technique, "one-needle");
      draft.set(FieldId::SyringeCapacity, "0.5 mL");
      draft.set(FieldId::SyringeGraduation, "0.01 mL");
      return;
  }
}

void set_schedule(Draft& draft, const Regimen& regimen, const Visit& visit, bool before) {
  draft.start = visit.start;
  draft.doses = visit.doses;
  draft.set_day(FieldId::ScheduleStart, visit.start);
  draft.set_number(FieldId::SupplyDoses, visit.doses);
  if (!regimen.recurs()) {
    draft.set_day(FieldId::ScheduleEnd, visit.start);
    draft.set(FieldId::ScheduleLastGiven, kNone);
    return;
  }
  draft.set(FieldId::ScheduleEvery, regimen.every);
  if (regimen.times > 1) draft.set_number(FieldId::ScheduleTimes, regimen.times);
  const auto span = static_cast<std::int64_t>(std::floor(regimen.apart() * (visit.doses - 1)));
  draft.set_day(FieldId::ScheduleEnd, visit.start + span);
  if (!before) {
    draft.set(FieldId::ScheduleLastGiven, kNone);
  } else if (regimen.times > 1) {
    draft.set(FieldId::ScheduleLastGiven, time_text((visit.start - 1) * std::int64_t{1440} + 1260));
  } else {
    draft.set_day(FieldId::ScheduleLastGiven, visit.last);
  }
}

void set_vial(Draft& draft, const Regimen& regimen, Random& random) {
  draft.set(FieldId::VialKind, kind_text(regimen.container));
  draft.set_day(FieldId::VialExpires, draft.start + random.between(240, 700));
  draft.set(FieldId::VialOpened, kNone);
  const auto span = static_cast<int>(std::floor(regimen.apart() * std::max(0, draft.doses - 1)));
  const int room = regimen.in_use_days - span;
  if (regimen.container == Container::MultiDose && room > 0 && random.percent(30)) {
    draft.set_day(FieldId::VialOpened, draft.start - random.below(room + 1));
  }
  const double held = regimen.vial_ml > 0 ? regimen.vial_ml : draft.volume;
  draft.set_number(FieldId::VialVolume, held, "mL");
  if (regimen.container == Container::Powder) {
    const double diluent = regimen.diluent_ml > 0 ? regimen.diluent_ml : held;
    draft.set_number(FieldId::Diluent, diluent, "mL");
    draft.clear(FieldId::VialVolume);
  }
  draft.set(FieldId::VialContent, number_text(held * regimen.strength, regimen.unit));
  if (regimen.container == Container::Prefilled) draft.set(FieldId::VialGraduated, "no");
}

void compose_given(Draft& draft, const Patient& patient, const Visit& visit,
                   const Numbers& numbers) {
  const Regimen& regimen = formulary()[patient.plans[visit.plan].regimen];
  draft.set(FieldId::OrderAction, "given");
  draft.set(FieldId::OrderFulfils, numbers.fulfils);
  draft.set(FieldId::OrderGiven, time_text(visit.minute));
  set_patient(draft, patient, visit.start);
  set_medicine(draft, patient, visit);
  draft.set(FieldId::Route, regimen.route);
}

/// The other ways in which the same right order gets written.
void vary(Draft& draft, const Regimen& regimen, const Visit& visit, const Plan& plan,
          Random& random) {
  if (regimen.recurs() && random.percent(40)) draft.set(FieldId::ScheduleText, regimen.words);
  if (regimen.per_kilogram == 0 && random.percent(10)) {
    draft.set_number(FieldId::PatientWeight, std::round(draft.body_kilograms * 22.0462) / 10, "lb");
  }
  if (regimen.unit == "mg" && draft.dose < 1 && random.percent(10)) {
    draft.set_number(FieldId::Dose, draft.dose * 1000, "mcg");
  }
  if (regimen.unit == "mcg" && random.percent(20)) {
    draft.set_number(FieldId::Dose, draft.dose / 1000, "mg");
  }
  // At home a week is sometimes eight days.
  if (plan.at_home && regimen.apart() >= 7 && visit.last != 0 && random.percent(6)) {
    draft.set_day(FieldId::ScheduleLastGiven, visit.last - 1);
  }
  if (draft.has(FieldId::Strength) && random.percent(25)) {
    draft.set(FieldId::SuppliedSubstance, regimen.code);
    draft.set(FieldId::SuppliedStrength, draft.at(FieldId::Strength));
    draft.set(FieldId::SuppliedVehicle, regimen.vehicle);
    draft.set(FieldId::SuppliedVials, draft.at(FieldId::SupplyVials));
    draft.set(FieldId::SuppliedVialVolume, draft.at(FieldId::VialVolume));
  }
}
}  // namespace

void set_syringe(Draft& draft,
                 double millilitres) {  // The barrel with the finest marks that holds it
                                        // (rules/syringes.csv); what a 3 mL barrel can
  // measure from 0.6 mL on goes into it when it is a multiple of its marks.
  std::string_view capacity = "1 mL";
  std::string_view graduation = "0.01 mL";
  const double tenths = millilitres * 10;
  const bool coarse = std::abs(tenths - std::round(tenths)) < 1e-6 && millilitres >= 0.6;
  if (millilitres > 1 || coarse) capacity = "3 mL", graduation = "0.1 mL";
  if (millilitres > 3) capacity = "5 mL", graduation = "0.2 mL";
  draft.set(FieldId::SyringeCapacity, capacity);
  draft.set(FieldId::SyringeGraduation, graduation);
}

void set_supply(Draft& draft, const Regimen& regimen) {
  const int doses = draft.doses;
  double vials = doses;  // one a dose
  if (regimen.container == Container::MultiDose) {
    // 0.07 mL stays in a syringe's hub (ISO 7886-1:2017 for syringes under 2 mL; see
    // rules/syringes.csv); insulin syringes keep next to nothing.
    const double kept = regimen.device == Device::Syringe ? 0.07 : 0.01;
    vials = std::ceil(doses * (draft.volume + kept) / regimen.vial_ml - 1e-9);
    // Each is used from its first dose to the end of its life in use
    // (rules/vial/vial-outlived.rule).
    if (regimen.recurs()) {
      const double a_vial = std::floor(regimen.in_use_days / regimen.apart() + 1e-9) + 1;
      vials = std::max(vials, std::ceil(doses / a_vial - 1e-9));
    }
  } else if (regimen.container == Container::Pen) {
    vials = std::ceil(doses * draft.dose / regimen.strength / regimen.vial_ml - 1e-9);
  } else if (regimen.container == Container::SingleDose) {
    vials = doses * std::ceil(draft.volume / regimen.vial_ml - 1e-9);
  }
  draft.set_number(FieldId::SupplyVials, vials);
  if (regimen.device == Device::Ready) return;
  draft.set_number(FieldId::SupplySyringes, doses);
  if (regimen.device != Device::Syringe) return;
  draft.set_number(FieldId::SupplyNeedles, doses);
  draft.set_number(FieldId::SupplyDrawNeedles, doses);
}

std::string directions(const Draft& draft, const Regimen& regimen) {
  std::string text = "Inject ";
  if (draft.volume > 0) {
    text += number_text(draft.volume, "mL");
  } else {
    text += dose_text(draft, regimen);
  }
  text += regimen.route == "subcutaneous" ? " under the skin " : " into the muscle ";
  text += regimen.words;
  return text;
}

void compose(Draft& draft, const Patient& patient, const Visit& visit, const Numbers& numbers,
             Random& random) {
  const Plan& plan = patient.plans[visit.plan];
  const Regimen& regimen = formulary()[plan.regimen];
  draft.set(FieldId::OrderId, numbers.id);
  draft.set(FieldId::Site, place(visit.place).site);
  draft.set(FieldId::Side, place(visit.place).side);
  if (visit.kind == VisitKind::Given) return compose_given(draft, patient, visit, numbers);
  draft.set(FieldId::OrderPlaced, time_text(visit.minute));
  draft.set(FieldId::OrderAction, visit.kind == VisitKind::Change ? "change" : "new");
  if (visit.kind == VisitKind::Stop) {
    draft.set(FieldId::OrderAction, "stop");
    draft.set(FieldId::PatientId, patient_id(patient.number));
    draft.clear(FieldId::Site);
    draft.clear(FieldId::Side);
    return;
  }
  draft.set(FieldId::OrderStatus, "active");
  draft.set(FieldId::OrderIndication, regimen.indication);
  draft.set(FieldId::OrderPrescriber, "P-" + std::to_string(100 + patient.number % 23));
  set_patient(draft, patient, visit.minute / 1440);
  set_medicine(draft, patient, visit);
  draft.set(FieldId::Route, regimen.route);
  draft.set(FieldId::SiteCondition, "normal");
  set_device(draft, patient, regimen);
  set_schedule(draft, regimen, visit, visit.last != 0);
  set_vial(draft, regimen, random);
  set_supply(draft, regimen);
  draft.set(FieldId::SelfInjected, plan.at_home ? "yes" : "no");
  if (plan.at_home) draft.set(FieldId::SupplySharpsBox, "yes");
  draft.set(FieldId::OrderDirections, directions(draft, regimen));
  vary(draft, regimen, visit, plan, random);
}

}  // namespace meniscus::year
