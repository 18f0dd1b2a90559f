// Defects of things and persons: devices, place, vial, supply, patient, the order itself.
#include <string>

#include "tests/year/defects.hpp"

namespace meniscus::year {

namespace {
using F = FieldId;

bool drawn(const Case& c) { return c.regimen.device == Device::Syringe; }
bool is(const Case& c, std::string_view code) { return c.regimen.code == code; }
bool muscle(const Case& c) { return c.regimen.route == "intramuscular"; }
bool several(const Case& c) { return c.draft.doses > 1; }

bool syringe_too_small(Case& c) {
  if (!drawn(c) || c.draft.volume <= 0.5 || c.draft.volume > 1) return false;
  c.draft.set(F::SyringeCapacity, "0.5 mL");
  c.draft.set(F::SyringeGraduation, "0.01 mL");
  return true;
}

bool syringe_too_large(Case& c) {
  if (!drawn(c) || c.draft.volume > 0.9) return false;
  c.draft.set(F::SyringeCapacity, "5 mL");
  c.draft.set(F::SyringeGraduation, "0.2 mL");
  return true;
}

bool less_than_a_mark(Case& c) {
  if (!drawn(c) || c.regimen.oil || c.draft.volume >= 0.5) return false;
  c.draft.set(F::SyringeCapacity, "10 mL");
  c.draft.set(F::SyringeGraduation, "0.5 mL");
  return true;
}

bool scale_wrong(Case& c) {
  if (c.regimen.device != Device::InsulinSyringe) return false;
  c.draft.set(F::SyringeScale, c.random.percent(50) ? "mL" : "U-40");
  return true;
}

bool part_of_unmarked(Case& c) {
  if (!is(c, "enoxaparin") || c.regimen.container != Container::Prefilled) return false;
  c.draft.set(F::Dose, "30 mg");
  c.draft.set(F::Volume, "0.3 mL");
  c.draft.clear(F::OrderDirections);
  return true;
}

bool more_than_prefilled(Case& c) {
  if (!is(c, "paliperidone-palmitate") || c.visit.rung > 1) return false;
  c.draft.set(F::VialContent, "39 mg");
  c.draft.set(F::VialVolume, "0.25 mL");
  return true;
}

bool fixed_needle(Case& c) {
  if (!drawn(c) || !c.regimen.oil) return false;
  c.draft.set(F::SyringeNeedle, "fixed");
  return true;
}

bool slip_tip(Case& c) {
  if (!drawn(c) || !c.regimen.oil) return false;
  c.draft.set(F::SyringeTip, "slip");
  return true;
}

bool needle_too_thin(Case& c) {
  if (!drawn(c) || !c.regimen.oil) return false;
  c.draft.set(F::NeedleGauge, "30 G");
  return true;
}

bool needle_too_wide(Case& c) {
  if (!drawn(c) || muscle(c)) return false;
  c.draft.set(F::NeedleGauge, "18 G");
  return true;
}

bool needle_too_short(Case& c) {
  if (!drawn(c) || !muscle(c)) return false;
  c.draft.set(F::NeedleLength, "1/2 in");
  return true;
}

bool needle_too_long(Case& c) {
  if (!drawn(c) || muscle(c)) return false;
  c.draft.set(F::NeedleLength, "1 1/2 in");
  return true;
}

bool gauges_swapped(Case& c) {
  if (!drawn(c)) return false;
  const std::string draw = c.draft.at(F::DrawNeedleGauge);
  c.draft.set(F::DrawNeedleGauge, c.draft.at(F::NeedleGauge));
  c.draft.set(F::NeedleGauge, draw);
  return true;
}

bool thick_without_draw_needle(Case& c) {
  if (!drawn(c) || !c.regimen.oil || c.regimen.gauge < 22) return false;
  c.draft.set(F::DrawNeedleGauge, kNone);
  c.draft.clear(F::DrawNeedleLength);
  c.draft.clear(F::DrawNeedleFilter);
  c.draft.clear(F::SupplyDrawNeedles);
  c.draft.set_number(F::SupplyNeedles, 2 * c.draft.doses);
  return true;
}

bool no_filter(Case& c) {
  if (c.regimen.container != Container::Ampoule) return false;
  c.draft.set(F::DrawNeedleFilter, "no");
  return true;
}

bool into_a_vein(Case& c) {
  if (!c.regimen.oil && !is(c, "paliperidone-palmitate") && !is(c, "medroxyprogesterone"))
    return false;
  c.draft.set(F::Route, "intravenous");
  c.draft.clear(F::OrderDirections);
  return true;
}

bool no_route(Case& c) {
  c.draft.clear(F::Route);
  c.draft.clear(F::OrderDirections);
  return true;
}

bool route_not_of_product(Case& c) {
  if (is(c, "insulin-glargine") || is(c, "enoxaparin") || is(c, "adalimumab")) {
    c.draft.set(F::Route, "intramuscular");
  } else if (is(c, "haloperidol-decanoate") || is(c, "paliperidone-palmitate")) {
    if (c.draft.volume > 1) return false;
    c.draft.set(F::Route, "subcutaneous");
  } else {
    return false;
  }
  c.draft.clear(F::OrderDirections);
  return true;
}

bool site_not_of_route(Case& c) {
  c.draft.set(F::Site, muscle(c) ? "abdomen" : "hand");
  return true;
}

bool into_a_lump(Case& c) {
  c.draft.set(F::SiteCondition, "lump");
  return true;
}

bool site_not_on_label(Case& c) {
  if (!is(c, "penicillin-g-benzathine") && !is(c, "testosterone-undecanoate")) return false;
  c.draft.set(F::Site, "vastus-lateralis");
  return true;
}

bool site_not_rested(Case& c) {
  const RecentPlace& last = c.recent.back();
  if (last.day == 0 || last.day >= c.visit.start || c.visit.start - last.day > 6) return false;
  if (c.regimen.apart() < 7) return false;
  const Place& used = place(last.place);
  const bool skin = used.region == "abdomen" || used.site == "thigh";
  const bool thigh = used.site == "vastus-lateralis" || used.site == "ventrogluteal";
  if (muscle(c) ? !thigh : !skin) return false;
  if (muscle(c) && used.site != c.draft.at(F::Site)) return false;  // the needle fits the site
  c.draft.set(F::Site, used.site);
  c.draft.set(F::Side, used.side);
  return true;
}

bool too_much_for_the_site(Case& c) {
  if (!is(c, "methotrexate") || !drawn(c) || c.draft.dose < 12 || c.draft.dose > 20) return false;
  // The weaker vial: the same dose in two and a half times the volume.
  const std::string volume = number_text(c.draft.dose / 10, "mL");
  c.draft.set(F::Strength, "10 mg/mL");
  c.draft.set(F::SubstanceName, "Methotrexate 10 mg/mL injection");
  c.draft.set(F::Volume, volume);
  c.draft.set(F::VialContent, "100 mg");
  c.draft.set(F::VialVolume, "10 mL");
  c.draft.set(F::SyringeCapacity, "3 mL");
  c.draft.set(F::SyringeGraduation, "0.1 mL");
  c.draft.set(F::OrderDirections, "Inject " + volume + " under the skin once a week");
  return true;
}

bool vial_too_old(Case& c) {
  if (c.regimen.container != Container::MultiDose && c.regimen.container != Container::Pen)
    return false;
  c.draft.set_day(F::VialOpened, c.draft.start - c.regimen.in_use_days - 3);
  return true;
}

bool opened_before(Case& c) {
  const Container container = c.regimen.container;
  if (container == Container::MultiDose || container == Container::Pen) return false;
  if (container == Container::Powder && !is(c, "ceftriaxone")) return false;
  c.draft.set_day(F::VialOpened, c.draft.start - 2);
  return true;
}

bool plan_outlives_the_vial(Case& c) {
  if (c.regimen.container != Container::MultiDose || !several(c)) return false;
  const double need = c.draft.doses * (c.draft.volume + 0.07);
  if (need > c.regimen.vial_ml || c.regimen.apart() < 3) return false;
  c.draft.set_day(F::VialOpened, c.draft.start - c.regimen.in_use_days + 1);
  c.draft.set(F::SupplyVials, "1");
  return true;
}

bool too_few_containers(Case& c) {
  if (c.regimen.container != Container::Prefilled || !several(c)) return false;
  c.draft.set(F::SupplyVials, "1");
  return true;
}

bool opening_not_known(Case& c) {
  // In use: given before, and nothing is dispensed that may be opened first.
  if (c.regimen.container != Container::MultiDose || c.draft.at(F::ScheduleLastGiven) == kNone ||
      !c.draft.has(F::ScheduleLastGiven))
    return false;
  c.draft.clear(F::VialOpened);
  c.draft.clear(F::SupplyVials);
  c.draft.clear(F::SupplyDoses);
  return true;
}

bool vial_expired(Case& c) {
  c.draft.set_day(F::VialExpires, c.draft.start - 2);
  return true;
}

bool expires_in_the_supply(Case& c) {
  if (c.regimen.apart() * (c.draft.doses - 1) < 10) return false;
  c.draft.set_day(F::VialExpires, c.draft.start + 4);
  return true;
}

bool single_dose_twice(Case& c) {
  if (!several(c) || c.regimen.container != Container::MultiDose || !drawn(c)) return false;
  c.draft.set(F::VialKind, "single-dose");
  c.draft.set(F::VialOpened, kNone);
  const int vials = std::stoi(c.draft.at(F::SupplyVials));
  return vials < c.draft.doses;
}

bool too_few_vials(Case& c) {
  if (c.regimen.container != Container::MultiDose || !several(c)) return false;
  const double need = c.draft.doses * c.draft.volume;
  if (need <= c.regimen.vial_ml) return false;
  c.draft.set(F::SupplyVials, "1");
  return true;
}

bool too_few_needles(Case& c) {
  if (!drawn(c) || !several(c)) return false;
  c.draft.clear(F::SupplyDrawNeedles);
  return true;
}

bool too_few_syringes(Case& c) {
  if (!c.draft.has(F::SupplySyringes) || !several(c)) return false;
  const int half = c.draft.doses / 2;
  c.draft.set_number(F::SupplySyringes, half);
  return true;
}

bool no_sharps_box(Case& c) {
  if (!c.plan.at_home || c.visit.last != 0 || c.recent.back().day != 0) return false;
  c.draft.set(F::SupplySharpsBox, "no");
  return true;
}

bool home_without_volume(Case& c) {
  if (!c.plan.at_home || !drawn(c)) return false;
  c.draft.clear(F::Volume);
  c.draft.clear(F::OrderDirections);
  return true;
}

bool allergic(Case& c) {
  std::string_view allergy;
  if (c.regimen.vehicle == "cottonseed-oil") allergy = "cottonseed";
  if (c.regimen.vehicle == "sesame-oil") allergy = "sesame";
  if (is(c, "penicillin-g-benzathine")) allergy = "penicillin";
  if (is(c, "enoxaparin")) allergy = "heparin";
  if (c.regimen.device == Device::InsulinSyringe) allergy = "m-cresol";
  if (is(c, "cyanocobalamin")) allergy = "benzyl-alcohol";
  if (allergy.empty()) return false;
  c.draft.set(F::PatientAllergies, allergy);
  return true;
}

bool allergic_to_latex(Case& c) {
  if (is(c, "ceftriaxone") || is(c, "leuprolide-depot")) return false;  // no row in products.csv
  c.draft.set(F::PatientAllergies, "latex");
  return true;
}

bool too_young(Case& c) {
  if (!is(c, "haloperidol-decanoate") && !is(c, "paliperidone-palmitate")) return false;
  c.draft.set_day(F::PatientBorn, c.draft.start - std::int64_t{16} * 366);
  return true;
}

bool a_draft(Case& c) {
  c.draft.set(F::OrderStatus, "draft");
  return true;
}

bool date_in_future(Case& c) {
  if (!c.regimen.recurs()) return false;
  c.draft.set_day(F::ScheduleLastGiven, c.visit.minute / 1440 + 20);
  return true;
}

bool ends_before_it_starts(Case& c) {
  c.draft.set_day(F::ScheduleEnd, c.draft.start - 1);
  return true;
}

bool needed_and_regular(Case& c) {
  // Every 6 h as needed is right, and so is once a day as needed.
  if (!c.regimen.recurs() || c.regimen.apart() <= 1) return false;
  c.draft.set(F::ScheduleAsNeeded, "yes");
  return true;
}

bool nobody(Case& c) {
  c.draft.clear(F::PatientId);
  return true;
}

constexpr Defect kDefects[] = {
    {"syringe-too-small", "a syringe that does not hold the volume", "syringe-fits",
     syringe_too_small},
    {"syringe-too-large", "a syringe of which the volume is a small part",
     "syringe-fits delivered-dose", syringe_too_large},
    {"less-than-a-mark", "a syringe whose smallest mark is more than the volume", "syringe-fits",
     less_than_a_mark},
    {"scale-wrong", "insulin on another scale", "scale-fits-product", scale_wrong},
    {"part-of-prefilled", "a part of an unmarked prefilled syringe", "part-of-prefilled",
     part_of_unmarked},
    {"more-than-prefilled", "more than the prefilled syringe holds", "part-of-prefilled",
     more_than_prefilled},
    {"fixed-needle-oil", "an oil through a fixed needle", "syringe-for-oil", fixed_needle},
    {"slip-tip-oil", "an oil with a slip tip", "syringe-for-oil", slip_tip},
    {"needle-thin", "an oil through a thin needle", "needle-gauge needle-force", needle_too_thin},
    {"needle-wide", "a drawing needle under the skin", "needle-gauge", needle_too_wide},
    {"needle-short", "a needle that does not reach the muscle", "needle-length", needle_too_short},
    {"needle-long", "a needle that goes past the skin", "needle-length", needle_too_long},
    {"needles-swapped", "the gauges to draw and to inject swapped", "needle-roles", gauges_swapped},
    {"no-draw-needle", "a thick oil without a wide needle", "needle-roles",
     thick_without_draw_needle},
    {"no-filter", "an ampoule without a filter needle", "filter-needle", no_filter},
    {"into-a-vein", "a depot into a vein", "route-named", into_a_vein},
    {"no-route", "no route", "route-named", no_route},
    {"route-of-another", "a route that is not the product's", "route-for-product",
     route_not_of_product},
    {"site-wrong", "a site that is not the route's", "site-for-route", site_not_of_route},
    {"site-lump", "a lump at the site", "site-skin", into_a_lump},
    {"site-off-label", "a site that the label leaves out", "site-on-label", site_not_on_label},
    {"site-not-rested", "the site of some days ago", "site-rest", site_not_rested},
    {"site-volume", "too much for one site", "site-volume", too_much_for_the_site},
    {"vial-old", "a vial past its life in use", "beyond-use", vial_too_old},
    {"opened-before", "what is used once, opened two days ago", "beyond-use", opened_before},
    {"vial-outlived", "an opened vial that is too old before the plan ends", "vial-outlived",
     plan_outlives_the_vial},
    {"containers-few", "one prefilled syringe for several doses", "enough-containers",
     too_few_containers},
    {"opening-unknown", "a multi-dose vial without its date of opening", "beyond-use",
     opening_not_known},
    {"vial-expired", "an expired vial", "expiry", vial_expired},
    {"vial-expires", "a vial that expires within the supply", "expiry", expires_in_the_supply},
    {"single-dose-twice", "a single-dose vial for several doses", "single-use", single_dose_twice},
    {"vials-few", "fewer vials than the plan needs", "vial-plan", too_few_vials},
    {"needles-few", "no needles to draw up with", "supplies", too_few_needles},
    {"syringes-few", "half the syringes", "supplies", too_few_syringes},
    {"no-sharps-box", "a first injection at home without a sharps box", "sharps", no_sharps_box},
    {"home-no-volume", "a patient at home without the millilitres", "volume-on-label",
     home_without_volume},
    {"allergy", "an allergy to an ingredient", "allergy", allergic},
    {"latex", "an allergy to latex", "allergy", allergic_to_latex},
    {"too-young", "a patient of sixteen for a medicine from eighteen", "age-band", too_young},
    {"draft", "an order that is not in force", "order-state", a_draft},
    {"future-date", "a last injection in the future", "dates", date_in_future},
    {"ends-early", "an end before the start", "calendar", ends_before_it_starts},
    {"as-needed", "as needed, and every so often", "calendar", needed_and_regular},
    {"no-patient", "no patient", "order-state", nobody},
};
}  // namespace

std::span<const Defect> defects_of_things() { return kDefects; }

}  // namespace meniscus::year
