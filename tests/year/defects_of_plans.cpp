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
  c.draft.set_number(F::SupplyNeedles, c.draft.doses / 2);
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
};
}  // namespace

std::span<const Defect> defects_of_plans() { return kDefects; }

}  // namespace meniscus::year
