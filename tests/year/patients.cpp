// Contract: see patients.hpp.
#include "tests/year/patients.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

#include "tests/year/random.hpp"

namespace meniscus::year {

namespace {
constexpr int kDaysInYear = 365;

constexpr Place kPlaces[] = {
    {"abdomen", "left", "abdomen"},
    {"abdomen", "right", "abdomen"},
    {"thigh", "left", "thigh"},
    {"thigh", "right", "thigh"},
    {"vastus-lateralis", "left", "thigh"},
    {"vastus-lateralis", "right", "thigh"},
    {"ventrogluteal", "left", "ventrogluteal"},
    {"ventrogluteal", "right", "ventrogluteal"},
    {"deltoid", "left", "upper-arm"},
    {"deltoid", "right", "upper-arm"},
};
struct PlaceRange {
  std::uint8_t first;
  std::uint8_t end;
};
PlaceRange places_for(Sites sites) {
  switch (sites) {
    case Sites::Skin:
      return {0, 4};
    case Sites::Thigh:
      return {4, 6};
    case Sites::Gluteal:
      return {6, 8};
    case Sites::GlutealOrThigh:
      return {4, 8};
    case Sites::Arm:
      return {8, 10};
  }
  return {0, 4};
}

// None of these is an ingredient of the medicines here (rules/allergens.csv).
constexpr std::string_view kHarmless[] = {"pollen", "dust-mites",  "shellfish", "egg",
                                          "nickel", "sulfonamide", "codeine",   "adhesive",
                                          "iodine", "bee-venom",   "milk",      "tree-nuts"};

int pick(Random& random, const std::array<int, 5>& choices) {
  int count = 0;
  while (choices[static_cast<std::size_t>(count)] >= 0)
    ++count;
  return count == 0 ? -1 : choices[static_cast<std::size_t>(random.below(count))];
}

const Need& pick_need(Random& random) {
  int sum = 0;
  for (const Need& need : needs())
    sum += need.weight;
  int at = random.below(sum);
  for (const Need& need : needs()) {
    if (at < need.weight) return need;
    at -= need.weight;
  }
  return needs().front();
}

bool takes(const Patient& patient, const Regimen& regimen) {
  return std::any_of(patient.plans.begin(), patient.plans.end(), [&](const Plan& plan) {
    return formulary()[plan.regimen].code == regimen.code;
  });
}

void add_plan(Random& random, Patient& patient, int regimen, std::int64_t day) {
  if (regimen < 0) return;
  const Regimen& row = formulary()[static_cast<std::size_t>(regimen)];
  const auto age = static_cast<double>(day - patient.born) / 365.25;
  const bool fits = (row.sex == Sex::Any || (row.sex == Sex::Female) == patient.female) &&
                    age > row.age_from && age < row.age_to;
  if (!fits || takes(patient, row)) return;
  Plan plan;
  plan.regimen = static_cast<std::uint8_t>(regimen);
  plan.at_home = random.percent(row.home_percent);
  // The first two doses of paliperidone go into the deltoid (rules/label-sites.csv): the plans here
  // are past them.
  plan.treated_before = random.percent(70) || row.code == "paliperidone-palmitate";
  patient.plans.push_back(plan);
}

Patient make_patient(Random& random, std::uint32_t number, std::int64_t first_day) {
  Patient patient;
  patient.number = number;
  const Need& need = pick_need(random);
  const int first = pick(random, need.first);
  const Regimen& main = formulary()[static_cast<std::size_t>(first)];
  // A year of room at both ends, so that nobody grows out of a plan.
  const int age = random.between(main.age_from + 1, main.age_to - 2);
  patient.born = first_day - age * 366 + random.below(365);
  patient.born = std::min(patient.born, first_day - (main.age_from + 1) * 366);
  patient.female = main.sex == Sex::Any ? random.percent(50) : main.sex == Sex::Female;
  patient.kilograms = patient.female ? random.between(48, 98) : random.between(58, 112);
  if (main.per_kilogram > 0) patient.kilograms = random.between(48, 92);
  patient.allergies = "none";
  if (random.percent(25)) {
    patient.allergies = kHarmless[random.below(static_cast<int>(std::size(kHarmless)))];
  }
  add_plan(random, patient, first, first_day);
  if (random.percent(50)) add_plan(random, patient, pick(random, need.more), first_day);
  if (random.percent(20)) add_plan(random, patient, pick(random, need.more), first_day);
  return patient;
}

/// Writes the visits of one plan.
class PlanYear {
 public:
  PlanYear(Random& random, const Patient& patient, std::uint32_t index, std::uint8_t plan,
           std::int64_t first_day, std::vector<Visit>& out)
      : random_(random),
        plan_(patient.plans[plan]),
        regimen_(formulary()[plan_.regimen]),
        first_day_(first_day),
        out_(out) {
    base_.patient = index;
    base_.plan = plan;
  }

  void run() {
    const int cycle =
        std::max(1, static_cast<int>(std::lround(regimen_.apart() * regimen_.doses_an_order)));
    std::int64_t start = first_day_ + random_.below(std::min(std::max(cycle, 28), 300));
    if (!plan_.treated_before || !regimen_.recurs()) start += random_.below(250);
    if (plan_.treated_before && regimen_.recurs()) last_ = start - whole_days(1);
    rung_ = random_.below(std::max(1, regimen_.dose_count() - (plan_.treated_before ? 0 : 1)));
    const std::int64_t stop = random_.percent(8) ? first_day_ + random_.below(kDaysInYear) : 0;
    while (start < first_day_ + kDaysInYear) {
      if (stop != 0 && start > stop && base_.order > 0) break;
      if (order(start, stop)) break;
      if (!regimen_.recurs()) break;
      start += cycle;
      ++base_.order;
    }
  }

 private:
  [[nodiscard]] std::int64_t whole_days(int doses) const {
    return std::lround(regimen_.apart() * doses);
  }

  void add(VisitKind kind, std::int64_t written_day, int from_hour, int hours, std::int64_t start,
           int doses) {
    Visit visit = base_;
    visit.kind = kind;
    visit.minute = written_day * 1440 + from_hour * 60 + random_.below(hours * 60);
    visit.start = static_cast<std::int32_t>(start);
    visit.last = static_cast<std::int32_t>(last_);
    visit.doses = static_cast<std::int16_t>(doses);
    visit.rung = static_cast<std::uint8_t>(rung_);
    out_.push_back(visit);
  }

  /// One order and what comes of it; true when the plan ends with it.
  bool order(std::int64_t start, std::int64_t stop) {
    const int doses = regimen_.doses_an_order;
    if (base_.order > 0 && random_.percent(12)) step();
    // Written a little before, never before the last injection of the order before it.
    std::int64_t written = start - random_.below(3);
    if (last_ != 0) written = std::max(written, last_ + 1);
    add(VisitKind::Order, std::min(written, start), 8, 4, start, doses);
    int changed_at = 0;
    if (doses >= 4 && random_.percent(6) && regimen_.dose_count() > 1) changed_at = doses / 2;
    for (int i = 0; i < doses; ++i) {
      const std::int64_t due = start + whole_days(i);
      if (stop != 0 && due > stop && i > 0) {
        add(VisitKind::Stop, std::max(due - 1, last_), 17, 2, due - 1, 1);
        return true;
      }
      if (changed_at > 0 && i == changed_at) {
        step();
        add(VisitKind::Change, due, 8, 1, due, doses - i);
      }
      last_ = due;
      if (!plan_.at_home && regimen_.apart() >= 7) give(due);
    }
    return false;
  }

  /// An injection by the clinic, most of them on the day.
  void give(std::int64_t due) {
    const int slack = regimen_.apart() >= 28 ? 3 : 1;
    std::int64_t day = due;
    if (random_.percent(6)) day += random_.between(1, slack);
    last_ = day;
    add(VisitKind::Given, day, 13, 4, day, 1);
  }

  void step() {
    const int top = regimen_.dose_count() - 1;
    base_.stepped = true;
    rung_ = std::clamp(rung_ + (random_.percent(65) ? 1 : -1), 0, std::max(top, 0));
  }

  Random& random_;
  const Plan& plan_;
  const Regimen& regimen_;
  std::int64_t first_day_;
  std::vector<Visit>& out_;
  Visit base_;
  std::int64_t last_ = 0;
  int rung_ = 0;
};

/// Gives each order and injection the place that has rested longest.
void rotate_places(Random& random, const Patient& patient, std::span<Visit> visits) {
  std::array<std::int64_t, std::size(kPlaces)> used{};
  std::array<std::uint8_t, 4> planned{};  // by plan: where the order's first dose goes
  std::array<std::int64_t, 4> planned_day{};
  for (Visit& visit : visits) {
    if (visit.kind == VisitKind::Stop) continue;
    // The first injection goes where its order says.
    if (visit.kind == VisitKind::Given && planned_day[visit.plan] != 0) {
      visit.place = planned[visit.plan];
      planned_day[visit.plan] = 0;
      used[visit.place] = visit.start;
      continue;
    }
    const PlaceRange range = places_for(formulary()[patient.plans[visit.plan].regimen].sites);
    const int count = range.end - range.first;
    const int turn = random.below(count);
    std::uint8_t best = range.first;
    std::int64_t oldest = INT64_MAX;
    for (int i = 0; i < count; ++i) {
      const auto candidate = static_cast<std::uint8_t>(range.first + (turn + i) % count);
      std::int64_t last = 0;
      for (std::size_t other = 0; other < used.size(); ++other) {
        const bool same = kPlaces[other].region == kPlaces[candidate].region &&
                          kPlaces[other].side == kPlaces[candidate].side;
        if (same) last = std::max(last, used[other]);
      }
      if (last < oldest) {
        oldest = last;
        best = candidate;
      }
    }
    visit.place = best;
    used[best] = visit.start;
    if (visit.kind != VisitKind::Given) {
      planned[visit.plan] = best;
      planned_day[visit.plan] = visit.start;
    }
  }
}
}  // namespace

const Place& place(std::uint8_t index) { return kPlaces[index]; }

Calendar make_calendar(std::uint64_t seed, std::size_t patients, std::int64_t first_day) {
  Calendar calendar;
  calendar.patients.reserve(patients);
  for (std::size_t i = 0; i < patients; ++i) {
    Random random(mix(seed, i));
    const auto index = static_cast<std::uint32_t>(i);
    const Patient& patient =
        calendar.patients.emplace_back(make_patient(random, index + 1, first_day));
    const std::size_t from = calendar.visits.size();
    for (std::size_t plan = 0; plan < patient.plans.size(); ++plan) {
      PlanYear(random, patient, index, static_cast<std::uint8_t>(plan), first_day, calendar.visits)
          .run();
    }
    const std::span<Visit> own = std::span(calendar.visits).subspan(from);
    std::stable_sort(own.begin(), own.end(),
                     [](const Visit& a, const Visit& b) { return a.minute < b.minute; });
    rotate_places(random, patient, own);
  }
  std::stable_sort(calendar.visits.begin(), calendar.visits.end(),
                   [](const Visit& a, const Visit& b) { return a.minute < b.minute; });
  return calendar;
}

}  // namespace meniscus::year
