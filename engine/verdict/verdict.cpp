// Names of grades and outcomes, and the reuse of a verdict's memory.
#include "engine/verdict/verdict.hpp"

#include <array>

namespace meniscus::engine {
namespace {

constexpr std::array<std::string_view, 4> kGrades = {"note", "caution", "clarify", "hold"};
constexpr std::array<std::string_view, 8> kOutcomes = {"clear",   "note", "caution", "incomplete",
                                                       "clarify", "hold", "outside", "recorded"};

/// The next of `list`, which may be one retired to `spare`; its own fill it again.
Hidden& next_hidden(std::vector<Hidden>& list, std::vector<Hidden>& spare) {
  if (spare.empty()) return list.emplace_back();
  Hidden& hidden = list.emplace_back(std::move(spare.back()));
  spare.pop_back();
  hidden.say.clear();
  return hidden;
}

void retire(std::vector<Hidden>& list, std::vector<Hidden>& spare) {
  for (Hidden& hidden : list)
    spare.push_back(std::move(hidden));
  list.clear();
}

}  // namespace

std::string_view name(Grade grade) { return kGrades.at(static_cast<std::size_t>(grade)); }
std::string_view name(Outcome outcome) { return kOutcomes.at(static_cast<std::size_t>(outcome)); }

std::optional<Grade> grade_named(std::string_view name) {
  for (std::size_t i = 0; i < kGrades.size(); ++i) {
    if (kGrades.at(i) == name) return static_cast<Grade>(i);
  }
  return std::nullopt;
}

Outcome outcome_of(Grade grade) {
  switch (grade) {
    case Grade::Note:
      return Outcome::Note;
    case Grade::Caution:
      return Outcome::Caution;
    case Grade::Clarify:
      return Outcome::Clarify;
    case Grade::Hold:
      return Outcome::Hold;
  }
  return Outcome::Hold;
}

void Verdict::clear() {
  lane = 0;
  order = {};
  patient = {};
  outcome = Outcome::Clear;
  for (Finding& finding : findings)
    spare_.push_back(std::move(finding));
  findings.clear();
  for (Slip& slip : slips)
    spare_slips_.push_back(std::move(slip));
  slips.clear();
  not_assessed.clear();
  retire(muted, spare_hidden_);
  retire(trial, spare_hidden_);
  reason.clear();
  as_of_day = 0;
}

Slip& Verdict::add_slip() {
  if (spare_slips_.empty()) return slips.emplace_back();
  Slip& slip = slips.emplace_back(std::move(spare_slips_.back()));
  spare_slips_.pop_back();
  slip.from.clear();
  slip.to.clear();
  slip.why.clear();
  slip.clears.clear();
  return slip;
}

Finding& Verdict::add_finding() {
  if (spare_.empty()) return findings.emplace_back();
  Finding& finding = findings.emplace_back(std::move(spare_.back()));
  spare_.pop_back();
  finding.rule = {};
  finding.clause = 0;
  finding.group = 0;
  finding.say.clear();
  finding.ask.clear();
  finding.cite = {};
  finding.fields.clear();
  return finding;
}

Hidden& Verdict::add_muted() { return next_hidden(muted, spare_hidden_); }
Hidden& Verdict::add_trial() { return next_hidden(trial, spare_hidden_); }

}  // namespace meniscus::engine
