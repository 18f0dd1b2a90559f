// Defects of what belongs together: plan and supply, device and container, words and person.
#include <string>

#include "tests/year/defects.hpp"

namespace meniscus::year {

namespace {
using F = FieldId;

bool drawn(const Case& c) { return c.regimen.device == Device::Syringe; }
bool is(const Case& c, std::string_view code) { return c.regimen.code == code; }
bool several(const Case& c) { return c.draft.doses > 1; }

bool ratio_in_words(Case& c) {
  if (!drawn(c)) return false;
  c.draft.set(F::OrderDirections, "Use the 1:1000 solution");
  return true;
}

bool sign_in_words(Case& c) {
  c.draft.set(F::OrderDirections, "Rest the site > 6 days");
  return true;
}

bool no_medicine(Case& c) {
  c.draft.clear(F::SubstanceCode);
  c.draft.clear(F::SubstanceName);
  return true;
}

bool weekday_and_daily(Case& c) {
  if (c.regimen.apart() != 1) return false;
  c.draft.clear(F::ScheduleText);
  c.draft.set(F::OrderDirections, "Inject on Monday mornings");
  return true;
}

bool how_often_is_missing(Case& c) {
  if (!c.regimen.recurs() || !several(c)) return false;
  if (is(c, "methotrexate") || is(c, "semaglutide")) return false;  // weekly medicines
  c.draft.clear(F::ScheduleEvery);
  c.draft.clear(F::ScheduleTimes);
  c.draft.clear(F::ScheduleText);
  c.draft.clear(F::OrderDirections);
  return true;
}

bool watched_at_home(Case& c) {
  if (!is(c, "testosterone-undecanoate")) return false;
  c.draft.set(F::SelfInjected, "yes");
  c.draft.set(F::SupplySharpsBox, "yes");
  return true;
}

bool no_side(Case& c) {
  if (c.draft.at(F::Site) == "abdomen") return false;
  c.draft.clear(F::Side);
  return true;
}

bool few_pen_needles(Case& c) {
  if (c.regimen.container != Container::Pen) return false;
  const int half = c.draft.doses / 2;
  c.draft.set_number(F::SupplyNeedles, half);
  return c.draft.doses > 1;
}

bool refills_apart(Case& c) {
  if (!drawn(c) || !c.plan.at_home) return false;
  c.draft.set(F::SupplyRefills, "3");
  c.draft.set(F::SupplyNeedleRefills, "0");
  c.draft.set(F::SupplySyringeRefills, "3");
  return true;
}

bool no_such_syringe(Case& c) {
  if (!drawn(c) || c.draft.at(F::SyringeCapacity) != "3 mL") return false;
  c.draft.set(F::SyringeGraduation, "0.5 mL");
  return c.draft.volume == 1;
}

bool drawn_from_pen(Case& c) {
  if (c.regimen.container != Container::Pen) return false;
  c.draft.set(F::SyringeCapacity, "1 mL");
  return true;
}

bool pen_of_another(Case& c) {
  if (c.regimen.container != Container::Pen || c.visit.last != 0) return false;
  c.draft.set_day(F::VialOpened, c.draft.start - 9);
  return true;
}

bool diluent_for_a_solution(Case& c) {
  if (!drawn(c) || c.regimen.container != Container::MultiDose) return false;
  c.draft.set(F::Diluent, "1 mL");
  return true;
}

bool hardly_a_mark(Case& c) {
  if (!is(c, "insulin-lispro") || c.visit.rung != 0) return false;
  c.draft.set(F::Dose, "1 units");
  c.draft.set(F::Volume, "0.01 mL");
  c.draft.clear(F::OrderDirections);
  return true;
}

bool over_the_guideline(Case& c) {
  if (!c.regimen.code.starts_with("testosterone") || c.regimen.every != "2 wk") return false;
  if (c.draft.dose < 160) return false;
  c.draft.dose = 240;
  c.draft.volume = 1.2;
  c.draft.set(F::Dose, "240 mg");
  c.draft.set(F::Volume, "1.2 mL");
  set_syringe(c.draft, 1.2);
  set_supply(c.draft, c.regimen);
  c.draft.set(F::OrderDirections, directions(c.draft, c.regimen));
  return true;
}

bool drawn_through_the_thin_one(Case& c) {
  if (!drawn(c) || !c.regimen.oil || c.draft.volume < 0.3) return false;
  c.draft.set(F::DrawNeedleGauge, "25 G");
  c.draft.set(F::NeedleGauge, "25 G");
  return c.regimen.route == "subcutaneous";
}

bool strength_and_dose_changed(Case& c) {
  if (!is(c, "insulin-glargine") || c.visit.order < 1 || c.visit.stepped) return false;
  c.draft.set(F::Strength, "300 units/mL");
  c.draft.set(F::SubstanceName, "Insulin glargine 300 units/mL injection");
  c.draft.set_number(F::Dose, c.draft.dose * 3, "units");
  c.draft.set(F::VialContent, "3000 units");
  c.draft.clear(F::SyringeScale);
  return c.draft.dose * 3 <= 100;
}

/// A part of the order in a mixture, by its share of the dose.
std::string part_of(const Case& c, std::string_view code, double share) {
  return "substance=" + std::string(code) +
         " dose=" + number_text(c.draft.dose * share, c.regimen.unit) +
         " strength=" + std::string(c.regimen.strength_text) +
         " volume=" + number_text(c.draft.volume * share, "mL");
}

bool half_is_another_medicine(Case& c) {
  if (!drawn(c) || c.regimen.unit != "mg" || c.draft.volume < 0.2) return false;
  if (c.regimen.container == Container::Powder) return false;  // its strength is its content
  const double half = c.draft.volume / 2;
  c.draft.set(F::Components, part_of(c, c.regimen.code, 0.5) +
                                 "; substance=heparin dose=" + number_text(half * 1000, "units") +
                                 " strength=1000 units/mL volume=" + number_text(half, "mL"));
  return true;
}

bool allergic_to_a_part(Case& c) {
  if (!is(c, "testosterone-cypionate") || c.regimen.strength != 200) return false;
  c.draft.set(F::Components,
              part_of(c, c.regimen.code, 0.5) + "; " + part_of(c, "testosterone-enanthate", 0.5));
  c.draft.set(F::PatientAllergies, "sesame");
  return true;
}

bool depot_as_a_part(Case& c) {
  if (!drawn(c) || c.regimen.oil || c.draft.volume <= 0) return false;
  if (c.regimen.unit != "mg" && c.regimen.unit != "units") return false;
  c.draft.set(F::Components, part_of(c, c.regimen.code, 1) +
                                 "; substance=medroxyprogesterone dose=15 mg strength=150 mg/mL "
                                 "volume=0.1 mL");
  c.draft.set(F::Route, "intravenous");
  c.draft.set(F::SelfInjected, "no");
  c.draft.clear(F::Volume);
  c.draft.clear(F::OrderDirections);
  return is(c, "enoxaparin") || is(c, "epoetin-alfa");
}

bool step_over_the_week(Case& c) {
  if (!c.regimen.code.starts_with("testosterone") || c.regimen.every != "1 wk") return false;
  if (!drawn(c) || c.regimen.strength != 200 || c.draft.dose < 80) return false;
  c.draft.set(F::ScheduleSteps, "dose=" + number_text(c.draft.dose, "mg") +
                                    " volume=" + number_text(c.draft.volume, "mL") +
                                    "; dose=220 mg volume=1.1 mL");
  return true;
}

bool ten_units_read_as_hundred(Case& c) {
  if (!is(c, "insulin-lispro")) return false;
  c.draft.set(F::Dose, "100 units");
  c.draft.set(F::Volume, "1 mL");
  c.draft.set(F::SyringeCapacity, "1 mL");
  c.draft.clear(F::SyringeGraduation);
  c.draft.clear(F::OrderDirections);
  c.draft.clear(F::SupplyVials);
  return true;
}

bool twice_daily_dose_four_times(Case& c) {
  if (!is(c, "enoxaparin") || c.regimen.per_kilogram != 1) return false;
  c.draft.clear(F::DosePerWeight);
  c.draft.set_number(F::ScheduleTimes, 4);
  c.draft.clear(F::ScheduleText);
  c.draft.clear(F::OrderDirections);
  c.draft.clear(F::SupplyDoses);
  c.draft.clear(F::ScheduleEnd);
  return true;
}

bool second_basal_insulin(Case& c) {
  if (!is(c, "insulin-glargine")) return false;
  c.draft.set(F::SubstanceCode, "insulin-degludec");
  c.draft.set(F::SubstanceName, "Insulin degludec 100 units/mL injection");
  c.draft.set(F::Site, "flank");
  return true;
}

bool supplied_in_another_oil(Case& c) {
  if (c.regimen.vehicle != "cottonseed-oil") return false;
  c.draft.set(F::SuppliedVehicle, "peanut-oil");
  c.draft.set(F::PatientAllergies, "peanut");
  return true;
}

bool relative_of_an_allergy(Case& c) {
  if (!is(c, "penicillin-g-benzathine")) return false;
  c.draft.set(F::PatientAllergies, "cephalosporin");
  return true;
}

bool age_of_another(Case& c) {
  c.draft.set(F::PatientAge, "97 years");
  return true;
}

bool height_shifted(Case& c) {
  c.draft.set(F::PatientHeight, "17.2 cm");
  return true;
}

bool scale_of_an_insulin(Case& c) {
  if (!drawn(c) || c.draft.at(F::SyringeCapacity) != "1 mL") return false;
  c.draft.set(F::SyringeScale, "U-40");
  c.draft.set(F::SyringeGraduation, "0.025 mL");
  return c.draft.volume >= 0.2;
}

constexpr Defect kDefects[] = {
    {"ratio-in-words", "a strength as a ratio in the directions", "ratio-strength", ratio_in_words},
    {"sign-in-words", "a sign for `more than`", "unsafe-symbols", sign_in_words},
    {"no-medicine", "no medicine", "medicine-named", no_medicine},
    {"weekday-daily", "one weekday, and every day", "weekday", weekday_and_daily},
    {"no-frequency", "several doses, and not how often", "frequency-missing", how_often_is_missing},
    {"watched-at-home", "an injection at home that must be watched", "observe-after",
     watched_at_home},
    {"no-side", "neither left nor right", "site-side", no_side},
    {"pen-needles-few", "half the needles for a pen", "pen-needles", few_pen_needles},
    {"refills-apart", "refills of the medicine and none of the needles", "refills", refills_apart},
    {"no-such-syringe", "marks that such a syringe does not have", "graduation-plausible",
     no_such_syringe},
    {"drawn-from-pen", "a syringe to draw from a pen", "pen-drawn", drawn_from_pen},
    {"pen-of-another", "a pen opened before the patient's first dose", "own-container",
     pen_of_another},
    {"diluent-for-solution", "diluent for what is no powder", "diluent", diluent_for_a_solution},
    {"hardly-a-mark", "a single mark of an insulin syringe", "few-marks", hardly_a_mark},
    {"over-guideline", "more than the guideline names for the interval", "guideline-range",
     over_the_guideline},
    {"drawn-thin", "an oil drawn up through a thin needle", "draw-up", drawn_through_the_thin_one},
    {"strength-and-dose", "three times the strength and three times the dose", "strength-change",
     strength_and_dose_changed},
    {"half-another", "half of the dose, and another medicine for the rest", "mixture-parts",
     half_is_another_medicine},
    {"allergy-part", "an allergy to the oil of a part of a mixture", "mixture-allergy",
     allergic_to_a_part},
    {"depot-part", "a depot as a part of a mixture, into a vein", "mixture-route", depot_as_a_part},
    {"step-week", "a step of the plan over the weekly most", "steps-in-limits", step_over_the_week},
    {"insulin-tenfold", "a hundred units of insulin three times a day", "insulin-dose",
     ten_units_read_as_hundred},
    {"by-the-day", "a dose for twice a day, four times a day", "weight-daily",
     twice_daily_dose_four_times},
    {"second-basal", "another basal insulin beside the one in force", "one-of-a-class",
     second_basal_insulin, true},
    {"supplied-allergy", "supplied in an oil that the patient is allergic to", "supplied-allergy",
     supplied_in_another_oil},
    {"cross-allergy", "an allergy to a relative of the medicine", "cross-allergy",
     relative_of_an_allergy},
    {"other-age", "an age that is not that of the birth date", "age-agrees", age_of_another},
    {"height-shifted", "a height with its point shifted", "growth-plausible", height_shifted},
    {"insulin-scale", "another medicine on the scale of an insulin", "scale-of-units",
     scale_of_an_insulin},
};
}  // namespace

std::span<const Defect> defects_of_plans() { return kDefects; }

}  // namespace meniscus::year
