// Reads results and verdict of one order (contract: before.hpp).
#include "engine/slips/before.hpp"

#include <algorithm>
#include <iterator>

namespace meniscus::engine::slips {
namespace {

/// A change of what the question rests on would open it again: it counts as new then.
bool is_answered(const Rule& rule, const Hit& hit, const Verdict& verdict) {
  return std::any_of(
      verdict.answered.begin(), verdict.answered.end(), [&](const Answered& answered) {
        return answered.rule.data() == rule.name.data() && answered.clause == hit.clause + 1;
      });
}

}  // namespace

void Before::read(const Program& program, unsigned lane, std::array<const RunResult*, 2> results,
                  const Verdict& verdict) {
  const Lanes bit = Lanes{1} << lane;
  graves_.clear();
  conditions_.clear();
  blamed_in_order_.clear();
  hits_.clear();
  undecided_.clear();
  groups_ = 0;
  for (const RunResult* result : results) {
    std::copy_if(
        result->hits.begin(), result->hits.end(), std::back_inserter(hits_), [&](const Hit& hit) {
          return (hit.lanes & bit) != 0 && !is_answered(program.rules[hit.rule], hit, verdict);
        });
    std::copy_if(result->undecided.begin(), result->undecided.end(), std::back_inserter(undecided_),
                 [&](const Undecided& open) { return (open.cause.lanes & bit) != 0; });
  }
  read_groups(program, verdict);
  // In the order of the rules, whatever order the findings stand in.
  std::sort(graves_.begin(), graves_.end(), [](const Grave& a, const Grave& b) {
    return a.rule != b.rule ? a.rule < b.rule : a.group < b.group;
  });
  std::sort(conditions_.begin(), conditions_.end());
}

void Before::read_groups(const Program& program, const Verdict& verdict) {
  std::uint16_t last = 0;
  for (const Finding& finding : verdict.findings) {  // group by group
    if (finding.grade < Grade::Clarify) continue;
    const bool next = finding.group != last;
    if (next && groups_ == kMostGroups) break;
    const std::size_t known = graves_.size();
    const std::uint32_t group = next ? groups_ : groups_ - 1;
    if (next) blamed_[group].reset();
    add_grave(program, finding, group);
    if (graves_.size() == known) continue;  // a built-in rule, which no change of a value settles
    last = finding.group;
    groups_ = group + 1;
  }
}

void Before::add_grave(const Program& program, const Finding& finding, std::uint32_t group) {
  for (const Hit& hit : hits_) {
    const Rule& rule = program.rules[hit.rule];
    if (rule.name.data() != finding.rule.data() || hit.clause + 1 != finding.clause) continue;
    graves_.push_back({hit.rule, group});
    for (const BlamedField& field : finding.fields) {
      blamed_[group].set(index(field.field));
      blamed_in_order_.push_back(field.field);
    }
    if (hit.clause >= 0) {
      conditions_.push_back(rule.clauses[static_cast<std::size_t>(hit.clause)].when);
    }
    return;
  }
}

bool Before::is_grave(std::uint32_t rule) const {
  return std::any_of(graves_.begin(), graves_.end(),
                     [&](const Grave& grave) { return grave.rule == rule; });
}

bool Before::blames(FieldId field, std::uint32_t groups) const {
  for (std::uint32_t group = 0; group < groups_; ++group) {
    if ((groups >> group & 1U) != 0 && blamed_[group].test(index(field))) return true;
  }
  return false;
}

std::size_t Before::place(FieldId field) const {
  const auto at = std::find(blamed_in_order_.begin(), blamed_in_order_.end(), field);
  return static_cast<std::size_t>(at - blamed_in_order_.begin());
}

bool Before::had(const Hit& hit) const {
  return std::any_of(hits_.begin(), hits_.end(), [&](const Hit& known) {
    return known.rule == hit.rule && known.clause == hit.clause && known.without == hit.without;
  });
}

bool Before::had(const Undecided& undecided) const {
  return std::any_of(undecided_.begin(), undecided_.end(), [&](const Undecided& known) {
    return known.rule == undecided.rule && known.cause.kind == undecided.cause.kind &&
           known.cause.id == undecided.cause.id;
  });
}

}  // namespace meniscus::engine::slips
