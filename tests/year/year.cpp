// Contract: see year.hpp.
#include "tests/year/year.hpp"

#include <algorithm>
#include <numeric>
#include <utility>

#include "engine/quantity/calendar.hpp"

namespace meniscus::year {

namespace {
constexpr std::size_t kPlansMost = 4;
// How many orders one patient has in a year, somewhat less than on average: so that the year holds
// as many as are asked for.
constexpr std::size_t kOrdersAPatient = 12;

constexpr FieldId kSupplied[] = {FieldId::SuppliedSubstance, FieldId::SuppliedStrength,
                                 FieldId::SuppliedVehicle,   FieldId::SuppliedVolume,
                                 FieldId::SuppliedVials,     FieldId::SuppliedVialVolume};

std::size_t patients_for(std::size_t orders) { return orders / kOrdersAPatient + 3; }
}  // namespace

Year::Year(const YearOptions& options)
    : options_(options),
      calendar_(make_calendar(options.seed, patients_for(options.orders),
                              engine::days_from_civil({2026, 1, 5}))),
      current_(calendar_.patients.size() * kPlansMost),
      recent_(calendar_.patients.size()),
      defects_(defect_count()) {}

std::string Year::new_id() { return "A-" + std::to_string(100000 + ++ids_); }

std::string& Year::current_order(const Visit& visit) {
  return current_[visit.patient * kPlansMost + visit.plan];
}

bool Year::next(Line& line) {
  while (ready_.empty()) {
    if (at_ == calendar_.visits.size() || judged_ >= options_.orders) return false;
    write(calendar_.visits[at_++]);
  }
  std::swap(line, ready_.front());
  ready_.pop_front();
  return true;
}

void Year::emit(const Draft& draft, bool judged, int defect) {
  Line line;
  if (options_.form == Form::Rich) {
    append_json(line.text, draft);
    line.text += '\n';
  } else {
    append_hl7(line.text, draft);
  }
  line.id = draft.at(FieldId::OrderId);
  line.judged = judged;
  line.defect = defect;
  if (judged) ++judged_;
  if (!line.text.empty()) ready_.push_back(std::move(line));
}

void Year::write(const Visit& visit) {
  const Patient& patient = calendar_.patients[visit.patient];
  Random random(mix(options_.seed, at_ + 0x10000000));
  Draft draft;
  std::string& order = current_order(visit);
  if (visit.kind == VisitKind::Order || order.empty()) order = new_id();
  if (visit.kind == VisitKind::Given) {
    const std::string id = new_id();
    compose(draft, patient, visit, {id, order}, random);
    emit(draft, false, kNoDefect);
  } else {
    compose(draft, patient, visit, {order, {}}, random);
    if (visit.kind == VisitKind::Stop) return emit(draft, false, kNoDefect);
    write_order(visit, draft, random);
  }
  Recent& recent = recent_[visit.patient];
  if (recent.back().day != visit.start || recent.back().place != visit.place) {
    std::rotate(recent.begin(), recent.begin() + 1, recent.end());
    recent.back() = {visit.start, visit.place};
  }
}

void Year::write_order(const Visit& visit, Draft& draft, Random& random) {
  const Patient& patient = calendar_.patients[visit.patient];
  const Plan& plan = patient.plans[visit.plan];
  const bool chosen = visit.kind == VisitKind::Order && visit.doses > 0 &&
                      random.below(1000) < options_.defects_per_thousand;
  Draft spoiled = draft;
  const Case sound{draft, patient, plan, formulary()[plan.regimen], visit, recent_[visit.patient],
                   random};
  const int number = chosen ? spoil(sound, spoiled) : kNoDefect;
  if (number == kNoDefect) return emit(draft, true, kNoDefect);
  Draft cancel;
  cancel.set(FieldId::OrderAction, "cancel");
  cancel.set(FieldId::OrderPlaced, draft.at(FieldId::OrderPlaced));
  cancel.set(FieldId::PatientId, draft.at(FieldId::PatientId));
  const bool doubles = defect(static_cast<std::size_t>(number)).doubles;
  if (doubles) {
    emit(draft, true, kNoDefect);
    spoiled.set(FieldId::OrderId, new_id());
  }
  emit(spoiled, true, number);
  cancel.set(FieldId::OrderId, spoiled.at(FieldId::OrderId));
  emit(cancel, false, kNoDefect);
  if (doubles) return;
  current_order(visit) = new_id();
  draft.set(FieldId::OrderId, current_order(visit));
  emit(draft, true, kNoDefect);
}

/// Puts one defect into `draft`: of those that can befall the order, the one injected least often
/// so far.  kNoDefect where none can.
int Year::spoil(const Case& sound, Draft& draft) {
  std::vector<std::size_t> numbers(defects_.size());
  std::iota(numbers.begin(), numbers.end(), 0);
  std::stable_sort(numbers.begin(), numbers.end(),
                   [&](std::size_t a, std::size_t b) { return defects_[a] < defects_[b]; });
  for (const std::size_t number : numbers) {
    Draft tried = sound.draft;
    // What is filled follows what is ordered, where the defect is not about just that.
    for (const FieldId field : kSupplied)
      tried.clear(field);
    Case c{tried,       sound.patient, sound.plan,  sound.regimen,
           sound.visit, sound.recent,  sound.random};
    if (!defect(number).inject(c)) continue;
    draft = std::move(tried);
    ++defects_[number];
    return static_cast<int>(number);
  }
  return kNoDefect;
}

std::string make_year(const YearOptions& options) {
  Year year(options);
  std::string text;
  text.reserve(options.orders * 1200);
  Line line;
  while (year.next(line))
    text += line.text;
  return text;
}

}  // namespace meniscus::year
