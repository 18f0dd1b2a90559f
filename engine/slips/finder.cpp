// Tries candidates and ranks what settles the order's findings (contract: finder.hpp).
#include "engine/slips/finder.hpp"

#include <algorithm>
#include <bit>

#include "engine/eval/lanes.hpp"
#include "engine/slips/ask.hpp"
#include "engine/slips/before.hpp"
#include "engine/slips/trial.hpp"
#include "engine/slips/value_text.hpp"

namespace meniscus::engine {

namespace s = slips;

namespace {

/// A candidate that clears something, and its place in the ranking.
struct Remedy {
  std::uint32_t candidate = 0;
  std::uint32_t groups = 0;  // cleared
  int score = 0;             // smaller is likelier
  double size = 0;
  std::size_t place = 0;  // of its field among those that are blamed
};

bool likelier(const Remedy& a, const Remedy& b) {
  if (a.score != b.score) return a.score < b.score;
  if (compare(a.size, b.size) != 0) return a.size < b.size;
  if (a.place != b.place) return a.place < b.place;
  return a.candidate < b.candidate;
}

constexpr int kRankWeight = 2;
constexpr int kNotBlamed = 3;  // a field that no finding blames is less likely
constexpr int kNewNote = 2;
constexpr int kSameField = 3;  // a second answer for one field says less than one for another

}  // namespace

class SlipFinder::Work {
 public:
  Work(const Program& program, Mode mode, const FieldSet& never_carries, const Days& days)
      : program_(program),
        dependence_(program),
        sources_(program),
        trial_(dependence_, days),
        judge_(program, mode, never_carries) {}

  void find(Scalar& scalar, std::array<const RunResult*, 2> results, Verdict& verdict) {
    before_.read(program_, scalar.facts().lane, results, verdict);
    if (before_.groups() == 0) return;
    choose_fields();
    if (wanted_.none()) return;
    make_candidates(scalar);
    remedies_.clear();
    picked_.clear();  // of the order before
    const std::span<const s::Candidate> all = candidates_.list();
    for (std::size_t first = 0; first < all.size(); first += kLanes) {
      if (first > 0 && enough(all[first])) break;
      const std::size_t count = std::min<std::size_t>(kLanes, all.size() - first);
      try_some(scalar.facts(), all.subspan(first, count), static_cast<std::uint32_t>(first));
      pick();
    }
    for (const Remedy& remedy : picked_)
      write(scalar, remedy, verdict);
  }

 private:
  /// A change clears a group only when all its grave rules depend on the field.
  void choose_fields() {
    wanted_.reset();
    read_.reset();
    for (std::uint32_t group = 0; group < before_.groups(); ++group) {
      FieldSet common = dependence_.any;
      for (const s::Grave& grave : before_.graves()) {
        if (grave.group != group) continue;
        common &= dependence_.rule[grave.rule];
        read_ |= dependence_.rule[grave.rule];
      }
      wanted_ |= common;
    }
  }

  void make_candidates(Scalar& scalar) {
    candidates_.clear();
    const s::Ask ask{program_, sources_, scalar, wanted_, candidates_};
    s::add_points(ask);
    s::add_listed(ask);
    s::add_fallbacks(ask);
    for (const NodeId condition : before_.conditions())
      s::add_agreeing(ask, condition);
    s::add_intervals(ask);
    s::add_marks(ask);
    s::add_exchanges(ask);
    s::add_units(ask);
    s::add_medicines(ask);
    s::add_dates(ask);
    s::add_words(ask);
    s::add_earlier(ask);
    s::add_sizes(ask);
    candidates_.sort();
  }

  /// Lanes whose change the rule's answer may depend on.
  [[nodiscard]] Lanes touched(std::uint32_t rule, Lanes lanes) const {
    Lanes touched = 0;
    for (const FieldInfo& field : fields()) {
      if (trial_.changed(field.id) != 0 && dependence_.rule[rule].test(index(field.id))) {
        touched |= trial_.changed(field.id);
      }
    }
    return touched & lanes;
  }

  void try_some(const OrderFacts& order, std::span<const s::Candidate> some, std::uint32_t first) {
    trial_.fill(order, some, read_);
    if (reads_text()) write_texts(some, trial_.block().lanes());
    judge_.begin(trial_.block(), trial_.facts());
    Lanes left = try_graves(trial_.block().lanes());
    if (left == 0) return;
    trial_.complete(order, left);
    if (!reads_text()) write_texts(some, left);
    left = try_others(left);
    each_lane(left, [&](unsigned lane) { add_remedy(some[lane], first + lane, lane); });
  }

  /// Some grave rule reads a field as text.
  [[nodiscard]] bool reads_text() const {
    return std::any_of(before_.graves().begin(), before_.graves().end(),
                       [&](const s::Grave& grave) {
                         return (dependence_.rule_written[grave.rule] & wanted_).any();
                       });
  }

  void write_texts(std::span<const s::Candidate> some, Lanes lanes) {
    each_lane(lanes, [&](unsigned lane) {
      const auto all = some[lane].all();
      const bool read = std::any_of(all.begin(), all.end(), [&](const s::Change& change) {
        return dependence_.written.test(index(change.field));
      });
      if (read) trial_.write_text(lane, some[lane]);
    });
  }

  /// Lanes in which the rules with grave findings bring nothing new and clear some group.
  Lanes try_graves(Lanes lanes) {
    tasks_.clear();
    for (const s::Grave& grave : before_.graves()) {
      const auto same = [&](const Judge::Task& task) { return task.rule == grave.rule; };
      if (std::any_of(tasks_.begin(), tasks_.end(), same)) continue;
      tasks_.push_back({grave.rule, touched(grave.rule, lanes)});
    }
    result_.clear();
    judge_.run(tasks_, result_);
    noted_ = 0;
    lanes &= ~new_in_result();
    cleared_.fill(0);
    Lanes some = 0;
    for (std::uint32_t group = 0; group < before_.groups(); ++group) {
      Lanes& cleared = cleared_[group];
      cleared = lanes;
      for (const s::Grave& grave : before_.graves()) {
        if (grave.group == group) cleared &= cleared_by(grave.rule, cleared);
      }
      some |= cleared;
    }
    return some & ~evaded(some);
  }

  /// Lanes in which the rule is about the order, decided, and finds nothing.
  Lanes cleared_by(std::uint32_t rule, Lanes lanes) {
    for (const Hit& hit : result_.hits) {
      if (hit.rule == rule && grade_of(hit) > Grade::Note) lanes &= ~hit.lanes;
    }
    for (const Undecided& undecided : result_.undecided) {
      if (undecided.rule == rule) lanes &= ~undecided.cause.lanes;
    }
    return judge_.concerned(rule, touched(rule, lanes));
  }

  /// Lanes in which a grave finding is gone although its rule was not decided: no answer.
  Lanes evaded(Lanes lanes) {
    Lanes evaded = 0;
    for (const s::Grave& grave : before_.graves()) {
      Lanes gone = touched(grave.rule, lanes);
      for (const Hit& hit : result_.hits) {
        if (hit.rule == grave.rule && grade_of(hit) > Grade::Note) gone &= ~hit.lanes;
      }
      evaded |= gone & ~cleared_by(grave.rule, gone);
    }
    return evaded;
  }

  Lanes try_others(Lanes lanes) {
    tasks_.clear();
    for (std::uint32_t rule = 0; rule < program_.rules.size(); ++rule) {
      if (before_.is_grave(rule) || program_.rules[rule].trial) continue;
      const Lanes some = touched(rule, lanes);
      if (some != 0) tasks_.push_back({rule, some});
    }
    result_.clear();
    judge_.run(tasks_, result_);
    return lanes & ~new_in_result();
  }

  [[nodiscard]] Grade grade_of(const Hit& hit) const {
    const Rule& rule = program_.rules[hit.rule];
    return hit.clause >= 0 ? rule.clauses[static_cast<std::size_t>(hit.clause)].grade
                           : rule.withouts[static_cast<std::size_t>(hit.without)].grade;
  }

  /// Lanes with something that was not there before.  A note asks nothing of anybody, and is often
  /// only what a graver finding of its rule had hidden: it counts against the rank instead.
  Lanes new_in_result() {
    Lanes fresh = 0;
    for (const Hit& hit : result_.hits) {
      if (before_.had(hit)) continue;
      (grade_of(hit) == Grade::Note ? noted_ : fresh) |= hit.lanes;
    }
    for (const Undecided& undecided : result_.undecided) {
      if (!before_.had(undecided)) fresh |= undecided.cause.lanes;
    }
    return fresh;
  }

  /// Another form of the medicine that the patient is not allergic to is a treatment to choose, not
  /// a slip of the pen.  The name on the order may still say that the code is one.
  [[nodiscard]] bool changes_medicine_for_allergy(const s::Candidate& candidate,
                                                  std::uint32_t groups) const {
    if (candidate.field() != FieldId::SubstanceCode || candidate.kind == s::Kind::NameSays)
      return false;
    return std::any_of(before_.graves().begin(), before_.graves().end(),
                       [&](const s::Grave& grave) {
                         return (groups >> grave.group & 1U) != 0 &&
                                dependence_.rule[grave.rule].test(index(FieldId::PatientAllergies));
                       });
  }

  void add_remedy(const s::Candidate& candidate, std::uint32_t number, unsigned lane) {
    Remedy remedy;
    remedy.candidate = number;
    for (std::uint32_t group = 0; group < before_.groups(); ++group) {
      if ((cleared_[group] >> lane & 1U) != 0) remedy.groups |= 1U << group;
    }
    remedy.score = kRankWeight * s::rank(candidate.kind);
    if (changes_medicine_for_allergy(candidate, remedy.groups)) return;
    if (candidate.twice) --remedy.score;
    if (!before_.blames(candidate.field(), remedy.groups)) remedy.score += kNotBlamed;
    if ((noted_ >> lane & 1U) != 0) remedy.score += kNewNote;
    remedy.size = candidate.size;
    remedy.place = before_.place(candidate.field());
    remedies_.push_back(remedy);
  }

  /// The likeliest of `left_`; where some clear a group that none of the picked clears, of those.
  std::vector<Remedy>::iterator best_left(std::uint32_t covered) {
    return std::min_element(left_.begin(), left_.end(), [&](const Remedy& a, const Remedy& b) {
      const bool new_a = (a.groups & ~covered) != 0;
      const bool new_b = (b.groups & ~covered) != 0;
      return new_a != new_b ? new_a : likelier(a, b);
    });
  }

  /// The three likeliest of those that clear most; one for each group before a second for any.
  void pick() {
    picked_.clear();
    int most = 0;
    for (const Remedy& remedy : remedies_)
      most = std::max(most, std::popcount(remedy.groups));
    left_.clear();
    std::copy_if(remedies_.begin(), remedies_.end(), std::back_inserter(left_),
                 [&](const Remedy& remedy) { return std::popcount(remedy.groups) == most; });
    std::uint32_t covered = 0;
    while (picked_.size() < kMostSlips && !left_.empty()) {
      const auto best = best_left(covered);
      covered |= best->groups;
      const FieldId field = candidates_.list()[best->candidate].field();
      picked_.push_back(*best);
      left_.erase(best);
      for (Remedy& remedy : left_) {
        if (candidates_.list()[remedy.candidate].field() == field) remedy.score += kSameField;
      }
    }
  }

  /// Three that clear all are picked, and what is left cannot outrank them.
  [[nodiscard]] bool enough(const s::Candidate& next) const {
    if (picked_.size() < kMostSlips) return false;
    const int least = kRankWeight * s::rank(next.kind) - 1;
    return std::all_of(picked_.begin(), picked_.end(), [&](const Remedy& remedy) {
      return remedy.score <= least &&
             std::popcount(remedy.groups) == static_cast<int>(before_.groups());
    });
  }

  void write(const Scalar& scalar, const Remedy& remedy, Verdict& verdict) {
    const s::Candidate& candidate = candidates_.list()[remedy.candidate];
    const OrderBlock& block = *scalar.facts().block;
    const unsigned lane = scalar.facts().lane;
    Slip& slip = verdict.add_slip();
    slip.field = candidate.field();
    const std::string_view written = block.written(lane, slip.field);
    slip.from = written;
    if (written.empty() || written.front() == '{') {
      s::write_value(slip.field, block.value(lane, slip.field), written, {}, slip.from);
    }
    s::write_value(slip.field, candidate.changes[0].value, written, candidate.unit, slip.to);
    slip.why = s::why(candidate.kind);
    for (const s::Change& other : candidate.all().subspan(1)) {
      s::write_value(other.field, other.value, block.written(lane, other.field), {}, text_);
      slip.why.append("; ").append(info(other.field).name).append(" would be ").append(text_);
    }
    for (const s::Grave& grave : before_.graves()) {
      const std::string_view rule = program_.rules[grave.rule].name;
      if ((remedy.groups >> grave.group & 1U) == 0) continue;
      if (std::find(slip.clears.begin(), slip.clears.end(), rule) == slip.clears.end()) {
        slip.clears.push_back(rule);
      }
    }
  }

  const Program& program_;
  const s::Dependence dependence_;
  const s::Sources sources_;
  s::Trial trial_;
  Judge judge_;
  s::Before before_;
  FieldSet wanted_;  // fields that get candidates
  FieldSet read_;    // by the rules with grave findings
  s::Candidates candidates_;
  std::vector<Judge::Task> tasks_;
  RunResult result_;
  std::array<Lanes, s::Before::kMostGroups> cleared_{};
  Lanes noted_ = 0;  // a note appears
  std::vector<Remedy> remedies_;
  std::vector<Remedy> left_;
  std::vector<Remedy> picked_;
  std::string text_;
};

SlipFinder::SlipFinder(const Program& program, Mode mode, const FieldSet& never_carries,
                       const Days& days)
    : program_(program), mode_(mode), never_carries_(never_carries), days_(days) {}
SlipFinder::~SlipFinder() = default;

void SlipFinder::set_days(const Days& days) {
  if (days == days_) return;
  days_ = days;
  work_.reset();  // it stands on the former days
}

void SlipFinder::find(Scalar& scalar, std::array<const RunResult*, 2> results, Verdict& verdict) {
  if (work_ == nullptr) {
    work_ = std::make_unique<Work>(program_, mode_, never_carries_, days_);
  }
  work_->find(scalar, results, verdict);
}

}  // namespace meniscus::engine
