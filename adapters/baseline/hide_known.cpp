// Contract: see hide_known.hpp.
#include "adapters/baseline/hide_known.hpp"

#include <algorithm>

namespace meniscus::adapters {

namespace {
using engine::Finding;
using engine::Outcome;
using engine::Verdict;

/// Groups count from 1 without gaps; findings of one stand together.
void renumber_groups(Verdict& verdict) {
  std::uint16_t before = 0;
  std::uint16_t number = 0;
  for (Finding& finding : verdict.findings) {
    if (finding.group != before) ++number;
    before = finding.group;
    finding.group = number;
  }
}

void grade(Verdict& verdict) {
  if (verdict.outcome == Outcome::Outside || verdict.outcome == Outcome::Recorded) return;
  verdict.outcome = Outcome::Clear;
  for (const Finding& finding : verdict.findings)
    verdict.outcome = std::max(verdict.outcome, engine::outcome_of(finding.grade));
  const bool grave = std::any_of(verdict.not_assessed.begin(), verdict.not_assessed.end(),
                                 [](const engine::NotAssessed& entry) { return entry.grave; });
  if (grave) verdict.outcome = std::max(verdict.outcome, Outcome::Incomplete);
}
}  // namespace

std::size_t hide_known(Verdict& verdict, const std::function<bool(const Finding&)>& known) {
  const std::size_t hidden = std::erase_if(verdict.findings, known);
  if (hidden == 0) return 0;
  renumber_groups(verdict);
  grade(verdict);
  return hidden;
}

}  // namespace meniscus::adapters
