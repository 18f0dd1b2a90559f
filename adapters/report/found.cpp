// Contract: see found.hpp.
#include "adapters/report/found.hpp"

#include <algorithm>

namespace meniscus::adapters {

using engine::Outcome;

bool is_found(const engine::Verdict& verdict, Outcome fail_at) {
  Outcome outcome = verdict.outcome;
  if (outcome == Outcome::Outside || outcome == Outcome::Recorded) {
    outcome = Outcome::Clear;
    for (const engine::Finding& finding : verdict.findings) {
      outcome = std::max(outcome, engine::outcome_of(finding.grade));
    }
  }
  return outcome >= fail_at;
}

}  // namespace meniscus::adapters
