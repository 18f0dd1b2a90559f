// Defects of what is written in numbers and words: amounts, notation, product, time, dose.
#include <cmath>
#include <string>

#include "tests/year/defects.hpp"

namespace meniscus::year {

namespace {
using F = FieldId;

bool drawn(const Case& c) { return c.regimen.device == Device::Syringe; }
bool is(const Case& c, std::string_view code) { return c.regimen.code == code; }

/// The dose, with its volume, device, vials and directions, as if it had been meant so.
void set_dose(Case& c, double dose) {
  c.draft.dose = dose;
  c.draft.set_number(F::Dose, dose, c.regimen.unit);
  if (c.draft.volume == 0) return;
  c.draft.volume = dose / c.regimen.strength;
  c.draft.set_number(F::Volume, c.draft.volume, "mL");
  if (c.draft.has(F::SyringeCapacity) && drawn(c)) set_syringe(c.draft, c.draft.volume);
  if (!drawn(c) && c.draft.has(F::SyringeCapacity)) c.draft.set(F::SyringeCapacity, "1 mL");
  set_supply(c.draft, c.regimen);
  c.draft.set(F::OrderDirections, directions(c.draft, c.regimen));
}

void set_volume(Case& c, double volume) {
  c.draft.set_number(F::Volume, volume, "mL");
  c.draft.clear(F::OrderDirections);
}

bool half_volume(Case& c) {
  if (!drawn(c) || c.draft.volume < 0.4) return false;
  set_volume(c, c.draft.volume / 2);
  set_syringe(c.draft, c.draft.volume / 2);
  return true;
}

bool more_volume(Case& c) {
  if (!drawn(c) || c.draft.volume < 0.2 || c.draft.volume > 0.8) return false;
  set_volume(c, std::round(c.draft.volume * 112) / 100);
  c.draft.set(F::SyringeCapacity, "1 mL");
  c.draft.set(F::SyringeGraduation, "0.01 mL");
  return true;
}

bool tenfold_in_words(Case& c) {
  if (!drawn(c)) return false;
  c.draft.set(F::OrderDirections, "Inject " + number_text(c.draft.volume * 10, "mL"));
  return true;
}

bool words_other_route(Case& c) {
  if (!c.draft.has(F::OrderDirections) || !c.regimen.recurs()) return false;
  const bool skin = c.regimen.route == "subcutaneous";
  c.draft.set(F::OrderDirections, skin ? "Inject into the muscle" : "Inject under the skin");
  return true;
}

bool words_other_interval(Case& c) {
  if (c.regimen.every != "1 wk") return false;
  c.draft.set(F::OrderDirections, "Inject " +
                                      number_text(c.draft.volume > 0 ? c.draft.volume : 1,
                                                  c.draft.volume > 0 ? "mL" : "pen") +
                                      " every 2 weeks");
  return true;
}

bool marks_doubled(Case& c) {
  if (!c.draft.has(F::Marks)) return false;
  c.draft.set_number(F::Marks, c.draft.volume * 200, "marks");
  return true;
}

bool marks_on_millilitres(Case& c) {
  if (!c.draft.has(F::Marks)) return false;
  c.draft.set(F::SyringeScale, "mL");
  return true;
}

bool content_wrong(Case& c) {
  if (!c.draft.has(F::Strength) || c.regimen.container != Container::MultiDose) return false;
  c.draft.set_number(F::VialContent, c.regimen.strength * c.regimen.vial_ml * 10, c.regimen.unit);
  return true;
}

bool powder_without_diluent(Case& c) {
  if (c.regimen.container != Container::Powder) return false;
  c.draft.clear(F::Diluent);
  return true;
}

bool supplied_other_strength(Case& c) {
  if (!drawn(c) || !is(c, "testosterone-cypionate")) return false;
  c.draft.set(F::SuppliedSubstance, c.regimen.code);
  c.draft.set(F::SuppliedStrength, "100 mg/mL");
  c.draft.set(F::SuppliedVehicle, c.regimen.vehicle);
  return true;
}

bool label_says_twice(Case& c) {
  if (c.draft.volume <= 0 || !c.draft.has(F::Strength)) return false;
  c.draft.set_number(F::SuppliedVolume, 2 * c.draft.volume, "mL");
  return true;
}

bool supplied_other_medicine(Case& c) {
  std::string_view other;
  if (is(c, "testosterone-cypionate")) other = "testosterone-enanthate";
  if (is(c, "testosterone-enanthate")) other = "testosterone-cypionate";
  if (is(c, "insulin-glargine")) other = "insulin-lispro";
  if (other.empty()) return false;
  c.draft.set(F::SuppliedSubstance, other);
  return true;
}

bool units_for_milligrams(Case& c) {
  if (!drawn(c) || c.regimen.unit != "mg" || is(c, "enoxaparin")) return false;
  c.draft.set_number(F::Dose, std::round(c.draft.volume * 100), "units");
  return true;
}

bool two_esters_in_name(Case& c) {
  if (is(c, "testosterone-cypionate")) {
    c.draft.set(F::SubstanceName, "Testosterone enanthate 200 mg/mL injection");
  } else if (is(c, "medroxyprogesterone")) {
    c.draft.set(F::SubstanceName, "Methylprednisolone acetate injection");
  } else if (is(c, "insulin-glargine")) {
    c.draft.set(F::SubstanceName, "Insulin lispro 100 units/mL injection");
  } else {
    return false;
  }
  return true;
}

bool strength_not_stocked(Case& c) {
  if (!drawn(c) || !c.draft.has(F::Strength) || c.regimen.unit != "mg") return false;
  if (is(c, "leuprolide-depot") || is(c, "enoxaparin")) return false;
  // Seven tenths of the labelled strength, which is no strength either; volume and container go
  // with it.
  const double strength = c.regimen.strength * 0.7;
  c.draft.set(F::Strength, number_text(strength, "mg/mL"));
  c.draft.set(F::SubstanceName, c.regimen.name);
  set_volume(c, c.draft.dose / strength);
  c.draft.clear(F::SuppliedStrength);
  c.draft.clear(F::SuppliedVehicle);
  c.draft.set(F::VialContent, number_text(strength * c.regimen.vial_ml, "mg"));
  c.draft.set(F::SyringeCapacity, "1 mL");
  c.draft.set(F::SyringeGraduation, "0.01 mL");
  c.draft.set_number(F::SupplyVials, 2 * std::stoi(c.draft.at(F::SupplyVials)));
  return c.draft.dose / strength <= 1;
}

bool wrong_oil(Case& c) {
  if (!c.regimen.oil || is(c, "testosterone-undecanoate")) return false;
  c.draft.set(F::SubstanceVehicle, "peanut-oil");
  return true;
}

bool bare_unit_letter(Case& c) {
  if (c.regimen.device != Device::InsulinSyringe) return false;
  c.draft.set(F::OrderDirections, "inject " + number_text(c.draft.dose) + "U under the skin");
  return true;
}

bool cubic_centimetres(Case& c) {
  if (!drawn(c)) return false;
  c.draft.set_number(F::Volume, c.draft.volume, "cc");
  c.draft.clear(F::OrderDirections);
  return true;
}

bool latin_daily(Case& c) {
  if (c.regimen.every != "1 day" || c.regimen.times != 1) return false;
  c.draft.set(F::ScheduleText, "QD");
  return true;
}

bool no_leading_zero(Case& c) {
  if (!drawn(c) || c.draft.volume >= 1) return false;
  c.draft.set(F::Volume, number_text(c.draft.volume, "mL").substr(1));
  c.draft.clear(F::OrderDirections);
  return true;
}

bool trailing_zero(Case& c) {
  if (c.draft.dose != std::floor(c.draft.dose) || c.regimen.unit != "mg") return false;
  c.draft.set(F::Dose, number_text(c.draft.dose) + ".0 mg");
  return true;
}

bool six_digits(Case& c) {
  if (!is(c, "penicillin-g-benzathine")) return false;
  c.draft.set(F::Dose, "1200000 units");
  return true;
}

bool decimal_comma(Case& c) {
  if (!drawn(c) || c.draft.volume >= 1) return false;
  std::string text = number_text(c.draft.volume, "mL");
  text[1] = ',';
  c.draft.set(F::Volume, text);
  c.draft.clear(F::OrderDirections);
  return true;
}

bool biweekly(Case& c) {
  if (c.regimen.every != "1 wk" && c.regimen.every != "2 wk") return false;
  c.draft.set(F::ScheduleText, "biweekly");
  return true;
}

bool too_early(Case& c) {
  if (c.regimen.apart() < 7 || c.visit.last == 0) return false;
  c.draft.set_day(F::ScheduleLastGiven,
                  c.visit.start - static_cast<std::int64_t>(c.regimen.apart() * 0.4));
  return c.visit.minute / 1440 >= c.visit.start - 1;
}

bool too_late(Case& c) {
  if (c.regimen.apart() < 7 || c.visit.last == 0) return false;
  c.draft.set_day(F::ScheduleLastGiven,
                  c.visit.start - static_cast<std::int64_t>(c.regimen.apart() * 2.3));
  return true;
}

bool weekly_daily(Case& c) {
  if (!is(c, "methotrexate")) return false;
  c.draft.set(F::ScheduleEvery, "1 day");
  c.draft.clear(F::ScheduleText);
  c.draft.clear(F::OrderDirections);
  return true;
}

bool too_much_a_week(Case& c) {
  const bool testosterone = c.regimen.code.starts_with("testosterone");
  if (!testosterone || c.regimen.every != "1 wk" || c.draft.dose < 90) return false;
  c.draft.set(F::ScheduleEvery, "3 days");
  c.draft.clear(F::OrderDirections);
  c.draft.clear(F::ScheduleText);
  return true;
}

bool depot_too_often(Case& c) {
  if (!is(c, "leuprolide-depot")) return false;
  c.draft.set(F::Dose, "22.5 mg");
  c.draft.set(F::VialContent, "22.5 mg");
  c.draft.set(F::Diluent, "1.5 mL");
  c.draft.set(F::Volume, "1.5 mL");
  c.draft.set(F::OrderDirections, "Inject 1.5 mL into the muscle every 4 weeks");
  return true;
}

bool second_ester(Case& c) {
  if (is(c, "testosterone-cypionate")) {
    c.draft.set(F::SubstanceCode, "testosterone-enanthate");
    c.draft.set(F::SubstanceName, "Testosterone enanthate 200 mg/mL injection");
    c.draft.set(F::SubstanceVehicle, "sesame-oil");
  } else if (is(c, "testosterone-enanthate")) {
    c.draft.set(F::SubstanceCode, "testosterone-cypionate");
    c.draft.set(F::SubstanceName, "Testosterone cypionate 200 mg/mL injection");
    c.draft.set(F::SubstanceVehicle, "cottonseed-oil");
  } else {
    return false;
  }
  c.draft.set(F::Site, "flank");
  return c.regimen.route == "subcutaneous";
}

bool entered_twice(Case& c) {
  if (!c.regimen.recurs() || c.regimen.sites != Sites::Skin) return false;
  c.draft.set(F::Site, "flank");
  return true;
}

bool catching_up(Case& c) {
  if (!is(c, "haloperidol-decanoate") || c.visit.order < 2 || c.visit.stepped) return false;
  const std::int64_t start = c.visit.last + 46;
  c.draft.set_day(F::ScheduleStart, start);
  c.draft.set_day(F::ScheduleEnd, start);
  set_dose(c, c.draft.dose * 2);
  return c.draft.volume <= 3;
}

bool step_disagrees(Case& c) {
  if (!drawn(c) || c.regimen.unit != "mg" || c.regimen.dose_count() < 3) return false;
  const double dose = c.draft.dose;
  const double volume = c.draft.volume;
  c.draft.set(F::ScheduleSteps, "dose=" + number_text(dose, "mg") +
                                    " volume=" + number_text(volume, "mL") +
                                    "; dose=" + number_text(dose * 1.5, "mg") +
                                    " volume=" + number_text(volume * 3, "mL"));
  return true;
}

bool over_largest(Case& c) {
  if (!is(c, "semaglutide") || !c.draft.has(F::Marks) || c.visit.rung != 2) return false;
  set_dose(c, 2.5);
  c.draft.set_number(F::Marks, 100, "marks");
  return true;
}

bool range_of_doses(Case& c) {
  if (!drawn(c) || c.regimen.unit != "mg" || c.regimen.dose_count() < 3) return false;
  if (c.visit.rung + 1 >= c.regimen.dose_count()) return false;
  c.draft.set_number(F::DoseHigh, c.regimen.doses[c.visit.rung + 1U], "mg");
  return true;
}

bool tenfold(Case& c) {
  if (c.regimen.device != Device::InsulinSyringe || c.visit.order < 2) return false;
  if (c.draft.dose * 10 > 90) return false;
  set_dose(c, c.draft.dose * 10);
  return true;
}

bool not_for_the_weight(Case& c) {
  if (c.regimen.per_kilogram == 0) return false;
  set_dose(c, std::round(c.draft.dose * 0.8));
  return true;
}

bool old_weight(Case& c) {
  if (c.regimen.per_kilogram == 0) return false;
  c.draft.set_day(F::PatientWeighed, c.draft.start - 500);
  return true;
}

bool between_steps(Case& c) {
  if (c.regimen.per_kilogram == 0) return false;
  set_dose(c, c.draft.dose + 0.3);
  return true;
}

bool pounds(Case& c) {
  if (c.visit.order < 2 || c.regimen.per_kilogram > 0) return false;
  if (c.draft.at(F::Site) == "deltoid") return false;  // the needle goes by the weight there
  c.draft.set_number(F::PatientWeight, std::round(c.draft.body_kilograms * 2.2), "kg");
  return true;
}

constexpr Defect kDefects[] = {
    {"volume-halved", "half the volume of the dose", "dose-volume-agreement", half_volume},
    {"volume-off", "an eighth too much volume", "dose-volume-agreement", more_volume},
    {"words-tenfold", "the directions name ten times the volume", "text-against-code",
     tenfold_in_words},
    {"words-route", "the directions name another route", "text-against-code", words_other_route},
    {"words-interval", "the directions name another interval", "text-against-code",
     words_other_interval},
    {"marks-doubled", "twice the marks of the dose", "marks-agreement", marks_doubled},
    {"marks-on-mL", "marks, on a syringe with millilitres", "marks-agreement",
     marks_on_millilitres},
    {"content-tenfold", "a container with ten times what its strength makes", "container-strength",
     content_wrong},
    {"no-diluent", "a powder without its diluent", "container-strength", powder_without_diluent},
    {"supplied-strength", "another strength supplied at the old volume", "ordered-against-supplied",
     supplied_other_strength},
    {"label-volume", "a label with twice the volume", "ordered-against-supplied", label_says_twice},
    {"supplied-medicine", "another medicine supplied", "ordered-against-supplied",
     supplied_other_medicine},
    {"units-for-mg", "marks written as units of a medicine in milligrams", "dose-kind",
     units_for_milligrams},
    {"name-mixed-up", "code and name are two medicines", "look-alike", two_esters_in_name},
    {"strength-not-stocked", "a strength that no product has", "product", strength_not_stocked},
    {"oil-wrong", "an oil that the product does not come in", "product", wrong_oil},
    {"bare-U", "a bare U after a number", "unsafe-notation", bare_unit_letter},
    {"cc", "cc for millilitres", "unsafe-notation", cubic_centimetres},
    {"QD", "QD for daily", "unsafe-notation", latin_daily},
    {"no-leading-zero", "no zero before the point", "number-writing", no_leading_zero},
    {"trailing-zero", "a needless zero after the point", "number-writing", trailing_zero},
    {"six-digits", "six digits and more in a row", "big-number", six_digits},
    {"decimal-comma", "a decimal comma", "doubtful-value", decimal_comma},
    {"biweekly", "a frequency that can be read in two ways", "frequency-clear", biweekly},
    {"too-early", "less than half the interval since the last one", "interval", too_early},
    {"too-late", "more than twice the interval since the last one", "interval", too_late},
    {"weekly-daily", "a weekly medicine every day", "weekly-only", weekly_daily},
    {"weekly-total", "a dose twice a week that is usual once", "weekly-dose", too_much_a_week},
    {"depot-too-often", "the depot for twelve weeks every four", "depot-interval", depot_too_often},
    {"second-ester", "another ester beside the one in force", "one-active-order", second_ester,
     true},
    {"entered-twice", "the same order twice", "one-active-order", entered_twice, true},
    {"catching-up", "a double dose after a missed one", "catch-up", catching_up},
    {"step-disagrees", "a step of the plan with twice its volume", "steps", step_disagrees},
    {"over-largest", "over the largest usual dose", "dose-range", over_largest},
    {"range-dose", "a range of doses", "range-dose", range_of_doses},
    {"tenfold", "ten times the patient's own dose", "own-history", tenfold},
    {"weight-dose", "a fifth off the dose by weight", "weight-dose", not_for_the_weight},
    {"weight-old", "a dose by a weight of sixteen months ago", "weight-dose", old_weight},
    {"between-steps", "a dose between two steps", "dose-step", between_steps},
    {"pounds", "the weight in pounds, written as kilograms", "weight-plausible", pounds},
};
}  // namespace

std::span<const Defect> defects_of_numbers() { return kDefects; }

std::size_t defect_count() {
  return defects_of_numbers().size() + defects_of_things().size() + defects_of_plans().size();
}

const Defect& defect(std::size_t number) {
  for (const std::span<const Defect> some : {defects_of_numbers(), defects_of_things()}) {
    if (number < some.size()) return some[number];
    number -= some.size();
  }
  return defects_of_plans()[number];
}

}  // namespace meniscus::year
